"""What the notebook holds, as tables. Temperatures in C, lengths in mm, weights in g, times in s.

A piece is one instrument's pair. Sums over the runs of a side, and over the zones of a run, are stored beside
them, so that lists and comparisons never read a curve. No text is ever empty: what is not known is None.
"""

from typing import Any, ClassVar

from peewee import (
    AutoField,
    BlobField,
    BooleanField,
    DatabaseProxy,
    FloatField,
    ForeignKeyField,
    IntegerField,
    Model,
    TextField,
)

BASS, TREBLE = "bass", "treble"
WHICH = (BASS, TREBLE)
PLACES = ("upper bout", "waist", "lower bout")
DEFECTS = ("cracked", "scorched", "stiff", "gave way")

open_book = DatabaseProxy()


class Words(TextField):
    """Text from anywhere. Half a character pair, which no file can hold, becomes a question mark."""

    def db_value(self, value: Any) -> Any:  # noqa: ANN401 - whatever a query compares with
        """The text as it is stored.

        value: text or None.
        """
        if isinstance(value, str):
            value = value.encode("utf-8", "replace").decode("utf-8")
        return super().db_value(value)


class Page(Model):
    """Base of every table: all of them live in the book that is open."""

    id = AutoField()

    class Meta:
        """Which book."""

        database = open_book
        legacy_table_names = False


class Piece(Page):
    """One instrument's sides. name: as the maker calls it, none twice. made_on: ISO 8601 date. simulated:
    bent on the virtual rig only; such a piece never takes a real run, nor the other way round.
    """

    name = Words(unique=True)
    instrument = Words(null=True)
    made_on = Words(null=True, index=True)
    remark = Words(null=True)
    simulated = BooleanField(index=True)

    class Meta:
        """Its table."""

        table_name = "pieces"


class Side(Page):
    """One side: how it lay, the blank it was made from, and the sums over its runs.

    which: bass or treble. show_face to taper: as the maker marks them, in words. weight_before_g,
    weight_after_g: before and after wetting. heat_s: time the hottest zone read bending heat or more.
    set_c, set_s: mean reading and time of the set. start_c: reading as the first run began.
    form_start_c, slat_start_c: as the maker measured them then.
    """

    piece = ForeignKeyField(Piece, backref="sides", on_delete="CASCADE")
    which = Words()
    species = Words(null=True)
    length_mm = FloatField(null=True)
    width_mm = FloatField(null=True)
    tightest_radius_mm = FloatField(null=True)
    wetted = Words(null=True)
    moisture_percent = FloatField(null=True)
    weight_before_g = FloatField(null=True)
    weight_after_g = FloatField(null=True)
    show_face = Words(null=True)
    top_edge = Words(null=True)
    neck_end = Words(null=True)
    waist_mark = Words(null=True)
    taper = Words(null=True)
    form_start_c = FloatField(null=True)
    slat_start_c = FloatField(null=True)
    remark = Words(null=True)
    runs_count = IntegerField(default=0)
    heat_s = FloatField(null=True)
    peak_c = FloatField(null=True)
    energy_kwh = FloatField(null=True)
    set_c = FloatField(null=True)
    set_s = FloatField(null=True)
    start_c = FloatField(null=True)

    class Meta:
        """Its table; a piece has each side once."""

        table_name = "sides"
        indexes: ClassVar[Any] = ((("piece", "which"), True),)


class Thickness(Page):
    """Thickness of a blank at one place, mm."""

    side = ForeignKeyField(Side, backref="thicknesses", on_delete="CASCADE")
    place = Words()
    thickness_mm = FloatField()

    class Meta:
        """Its table."""

        table_name = "thicknesses"


class Run(Page):
    """One run of a side. key: what tells it from any other, made of its log's header. *_path: its files as
    they lay when it was taken in. sha256: of the run file. ending: how it ended, None for a cut record. laid:
    which side it was laid out as and what was answered, in words.
    """

    key = Words(unique=True)
    side = ForeignKeyField(Side, backref="runs", on_delete="CASCADE")
    board = Words()
    number = IntegerField(null=True)
    simulated = BooleanField()
    started_unix = IntegerField(null=True, index=True)
    fetched_unix = IntegerField(null=True)
    profile = Words()
    profile_hash = Words()
    rig = Words()
    firmware = Words()
    ending = Words(null=True)
    csv_path = Words(null=True)
    json_path = Words(null=True)
    log_path = Words(null=True)
    sha256 = Words()
    laid = Words(null=True)
    seconds = FloatField()
    heat_s = FloatField(null=True)
    peak_c = FloatField(null=True)
    energy_kwh = FloatField(null=True)
    set_c = FloatField(null=True)
    set_s = FloatField(null=True)
    start_c = FloatField(null=True)

    class Meta:
        """Its table."""

        table_name = "runs"


class RunZone(Page):
    """One zone of a run, as Run."""

    run = ForeignKeyField(Run, backref="zones", on_delete="CASCADE")
    zone = Words()
    heat_s = FloatField(null=True)
    peak_c = FloatField(null=True)
    energy_kwh = FloatField(null=True)
    set_c = FloatField(null=True)
    set_s = FloatField(null=True)
    start_c = FloatField(null=True)

    class Meta:
        """Its table."""

        table_name = "run_zones"


class Curve(Page):
    """What a zone's thermocouple read, every step_s from the first second of heat; packed as heat.pack()."""

    run_zone = ForeignKeyField(RunZone, backref="curves", on_delete="CASCADE")
    step_s = IntegerField()
    packed = BlobField()

    class Meta:
        """Its table."""

        table_name = "curves"


class Measurement(Page):
    """A side as it was found after rest. Gaps in mm, side to mould: above 0 it stands off, it has opened;
    below 0 it has closed further. hours_on_form, hours_since_release: None where not noted.
    """

    side = ForeignKeyField(Side, backref="measurements", on_delete="CASCADE")
    noted_on = Words()
    gap_upper_mm = FloatField(null=True)
    gap_waist_mm = FloatField(null=True)
    gap_lower_mm = FloatField(null=True)
    twist_deg = FloatField(null=True)
    cup_mm = FloatField(null=True)
    hours_on_form = FloatField(null=True)
    hours_since_release = FloatField(null=True)
    remark = Words(null=True)

    class Meta:
        """Its table."""

        table_name = "measurements"


class Defect(Page):
    """What went wrong. kind: of DEFECTS. place: in words. badness: 0 none, looked for, to 3 lost."""

    side = ForeignKeyField(Side, backref="defects", on_delete="CASCADE")
    kind = Words()
    place = Words(null=True)
    badness = IntegerField()
    remark = Words(null=True)

    class Meta:
        """Its table."""

        table_name = "defects"


class Photo(Page):
    """A picture of a side. path: where it lies. copied: it was copied beside the book."""

    side = ForeignKeyField(Side, backref="photos", on_delete="CASCADE")
    path = Words()
    copied = BooleanField()
    remark = Words(null=True)

    class Meta:
        """Its table."""

        table_name = "photos"


TABLES = (Piece, Side, Thickness, Run, RunZone, Curve, Measurement, Defect, Photo)
SUMS = ("heat_s", "peak_c", "energy_kwh", "set_c", "set_s", "start_c")
MEASURED_AT_START = ("form_start_c", "slat_start_c")
