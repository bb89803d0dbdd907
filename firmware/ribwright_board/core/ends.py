"""What ends a hold or a set: time within the band, the maker, or the wood as it is estimated."""

from .units import TARGET_MAX_C, TARGET_MIN_C, c_from, in_unit, number_text

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .checks import Table
    from .profile_values import Stage

MINUTE_MS = 60000
UNTIL = ("maker", "wood")
# The middle of the wood stays so far below its thermocouple for good: it would never be seen to be nearer.
MID_WOOD_ROOM_K = 8.0
MID_WOOD_LONGEST_S = 1800


def read_times(table: "Table", stage: "Stage") -> None:
    """How a hold or set ends; one that can never end, or never stops, is a problem.

    table: the stage's. stage: gets what is found; its target has been read.
    """
    until = table.choice("until", UNTIL, False) if stage.kind == "hold" else None
    minutes = table.number("minutes", 0.1, 240, "min", False)
    longest = table.number("longest_min", 0.1, 240, "min", False)
    place = table.where
    if until == "wood":
        _read_wood(table, stage)
    else:
        _refuse_wood(table)
    if until is not None and table.has("minutes"):
        table.add("two_ends", place + ("until",), "and minutes both end this stage; keep one of them")
    elif until is not None and longest is None:
        if not table.has("longest_min"):
            text = "waits for the %s and could never end; add longest_min = a number of minutes" % until
            table.add("endless", place + ("longest_min",), text)
    elif until is None and not table.has("minutes"):
        hint = (
            'minutes = a number, or until = "maker" or "wood" with longest_min'
            if stage.kind == "hold"
            else "minutes = a number"
        )
        table.add("endless", place + ("minutes",), "is not stated, the stage could never end; add " + hint)
    if minutes is not None:
        stage.hold_ms = int(minutes * MINUTE_MS)
        if longest is None:
            # Room for settling and for wood that cools the reading while it is pressed.
            stage.longest_ms = 2 * stage.hold_ms + 5 * MINUTE_MS
        elif longest < minutes:
            table.add(
                "endless",
                place + ("longest_min",),
                "is %s min, less than minutes (%s); raise it" % (number_text(longest), number_text(minutes)),
            )
    if longest is not None:
        stage.longest_ms = int(longest * MINUTE_MS)


def _refuse_wood(table: "Table") -> None:
    """Keys of an end by the wood where the stage does not end so."""
    for key in ("mid_wood", "mid_wood_s"):
        if table.has(key):
            table.take(key)
            text = 'belongs to a hold with until = "wood"; state that, or remove it'
            table.add("not_by_wood", table.where + (key,), text)


def _read_wood(table: "Table", stage: "Stage") -> None:
    """The middle of the wood that ends a hold, and for how long."""
    read_mid_wood(table, stage)
    seconds = table.number("mid_wood_s", 1, MID_WOOD_LONGEST_S, "s")
    if seconds is not None:
        stage.mid_wood_ms = int(seconds * 1000.0 + 0.5)


def read_mid_wood(table: "Table", stage: "Stage") -> None:
    """The middle of the wood that ends a stage.

    table: the stage's. stage: gets it; its target has been read.
    """
    value = table.temperature("mid_wood", TARGET_MIN_C - MID_WOOD_ROOM_K, TARGET_MAX_C, True)
    if value is not None:
        stage.mid_wood_c = c_from(value, table.unit)
    longest_c = None if stage.target_c is None else stage.target_c - MID_WOOD_ROOM_K
    # A hair wider, so that a limit stated in Fahrenheit survives its way through Celsius.
    if stage.mid_wood_c is not None and longest_c is not None and stage.mid_wood_c > longest_c + 0.01:
        table.add(
            "range",
            table.where + ("mid_wood",),
            "is %s, the most that can be seen beside this target is %s %s (the target less %s K); "
            "lower it or raise the target"
            % (
                number_text(value or 0.0),
                number_text(in_unit(longest_c, table.unit)),
                table.unit,
                number_text(MID_WOOD_ROOM_K),
            ),
        )


class WoodEnd:
    """Counts for how long the middle of the wood has been estimated hot enough.

    zones: how many the rig has. mids_c: per zone the estimate, C, or None for none; set by the caller. It
    only ever ends a stage that asks for it.
    """

    def __init__(self, zones: int) -> None:
        self.mids_c: list[float | None] = [None] * zones
        self._above_ms = 0

    def begin(self) -> None:
        """A stage begins: nothing counts yet."""
        self._above_ms = 0

    def reached(self, stage: "Stage", dt_ms: int) -> bool:
        """Whether the wood ends the stage now: every zone without a break for as long as is asked.

        stage: the present one. dt_ms: time since the last step. Without an estimate nothing counts.
        """
        wanted_c, wanted_ms = stage.mid_wood_c, stage.mid_wood_ms
        if wanted_c is None or wanted_ms is None:
            return False
        for zone in stage.zones:
            mid_c = self.mids_c[zone]
            if mid_c is None or not mid_c >= wanted_c:
                self._above_ms = 0
                return False
        self._above_ms += dt_ms
        return self._above_ms >= wanted_ms

    def coolest_c(self, stage: "Stage") -> float | None:
        """The coolest estimate of the stage's zones, C; None when one of them has none.

        stage: the present one.
        """
        coolest_c: float | None = None
        for zone in stage.zones:
            mid_c = self.mids_c[zone]
            if mid_c is None:
                return None
            coolest_c = mid_c if coolest_c is None else min(coolest_c, mid_c)
        return coolest_c
