"""The notebook's tables as they have become, step by step; a step that was released never changes.

A book states its schema in SQLite's user_version. Each step runs in one transaction with the new number.
"""

from collections.abc import Callable

from peewee import FloatField, SqliteDatabase, TextField
from playhouse.migrate import SqliteMigrator, migrate

_SUMS = "heat_s REAL, peak_c REAL, energy_kwh REAL, set_c REAL, set_s REAL, start_c REAL"

_FIRST = (
    (
        "CREATE TABLE pieces (id INTEGER PRIMARY KEY, name TEXT NOT NULL UNIQUE, instrument TEXT,"
        " made_on TEXT, remark TEXT, simulated INTEGER NOT NULL)"
    ),
    "CREATE INDEX pieces_made_on ON pieces (made_on)",
    "CREATE INDEX pieces_simulated ON pieces (simulated)",
    (
        "CREATE TABLE sides (id INTEGER PRIMARY KEY,"
        " piece_id INTEGER NOT NULL REFERENCES pieces (id) ON DELETE CASCADE, which TEXT NOT NULL,"
        " species TEXT, length_mm REAL, width_mm REAL,"
        " tightest_radius_mm REAL, wetted TEXT,"
        " moisture_percent REAL, weight_before_g REAL, weight_after_g REAL, show_face TEXT,"
        " top_edge TEXT, neck_end TEXT,"
        f" waist_mark TEXT, taper TEXT, remark TEXT, runs_count INTEGER NOT NULL DEFAULT 0, {_SUMS})"
    ),
    "CREATE UNIQUE INDEX sides_piece_which ON sides (piece_id, which)",
    (
        "CREATE TABLE thicknesses (id INTEGER PRIMARY KEY,"
        " side_id INTEGER NOT NULL REFERENCES sides (id) ON DELETE CASCADE,"
        " place TEXT NOT NULL, thickness_mm REAL NOT NULL)"
    ),
    "CREATE INDEX thicknesses_side ON thicknesses (side_id)",
    (
        "CREATE TABLE runs (id INTEGER PRIMARY KEY, key TEXT NOT NULL UNIQUE,"
        " side_id INTEGER NOT NULL REFERENCES sides (id) ON DELETE CASCADE, board TEXT NOT NULL,"
        " number INTEGER, simulated INTEGER NOT NULL, started_unix INTEGER, fetched_unix INTEGER,"
        " profile TEXT NOT NULL, profile_hash TEXT NOT NULL, rig TEXT NOT NULL,"
        " firmware TEXT NOT NULL, ending TEXT, csv_path TEXT,"
        f" json_path TEXT, log_path TEXT, sha256 TEXT NOT NULL, seconds REAL NOT NULL, {_SUMS})"
    ),
    "CREATE INDEX runs_side ON runs (side_id)",
    "CREATE INDEX runs_started ON runs (started_unix)",
    (
        "CREATE TABLE run_zones (id INTEGER PRIMARY KEY,"
        f" run_id INTEGER NOT NULL REFERENCES runs (id) ON DELETE CASCADE, zone TEXT NOT NULL, {_SUMS})"
    ),
    "CREATE INDEX run_zones_run ON run_zones (run_id)",
    (
        "CREATE TABLE measurements (id INTEGER PRIMARY KEY,"
        " side_id INTEGER NOT NULL REFERENCES sides (id) ON DELETE CASCADE, noted_on TEXT NOT NULL,"
        " gap_upper_mm REAL, gap_waist_mm REAL, gap_lower_mm REAL, hours_on_form REAL,"
        " hours_since_release REAL, remark TEXT)"
    ),
    "CREATE INDEX measurements_side ON measurements (side_id)",
    (
        "CREATE TABLE defects (id INTEGER PRIMARY KEY,"
        " side_id INTEGER NOT NULL REFERENCES sides (id) ON DELETE CASCADE, kind TEXT NOT NULL, place TEXT,"
        " badness INTEGER NOT NULL, remark TEXT)"
    ),
    "CREATE INDEX defects_side ON defects (side_id)",
)

_CURVES_AND_PHOTOS = (
    (
        "CREATE TABLE curves (id INTEGER PRIMARY KEY,"
        " run_zone_id INTEGER NOT NULL REFERENCES run_zones (id) ON DELETE CASCADE,"
        " step_s INTEGER NOT NULL, packed BLOB NOT NULL)"
    ),
    "CREATE INDEX curves_run_zone ON curves (run_zone_id)",
    (
        "CREATE TABLE photos (id INTEGER PRIMARY KEY,"
        " side_id INTEGER NOT NULL REFERENCES sides (id) ON DELETE CASCADE, path TEXT NOT NULL,"
        " copied INTEGER NOT NULL, remark TEXT)"
    ),
    "CREATE INDEX photos_side ON photos (side_id)",
)


def _first(database: SqliteDatabase) -> None:
    for statement in _FIRST:
        database.execute_sql(statement)


def _second(database: SqliteDatabase) -> None:
    """Curves and photos; twist and cup of a measured side."""
    for statement in _CURVES_AND_PHOTOS:
        database.execute_sql(statement)
    migrator = SqliteMigrator(database)
    migrate(
        migrator.add_column("measurements", "twist_deg", FloatField(null=True)),
        migrator.add_column("measurements", "cup_mm", FloatField(null=True)),
    )


def _third(database: SqliteDatabase) -> None:
    """Which side a run was laid out as."""
    migrate(SqliteMigrator(database).add_column("runs", "laid", TextField(null=True)))


def _fourth(database: SqliteDatabase) -> None:
    """Form and slat as the first run of a side began, measured by the maker."""
    migrator = SqliteMigrator(database)
    migrate(
        migrator.add_column("sides", "form_start_c", FloatField(null=True)),
        migrator.add_column("sides", "slat_start_c", FloatField(null=True)),
    )


STEPS: tuple[Callable[[SqliteDatabase], None], ...] = (_first, _second, _third, _fourth)
SCHEMA = len(STEPS)


def take_steps(database: SqliteDatabase, upto: int = SCHEMA) -> None:
    """Bring a book to a schema, each step whole or not at all.

    database: open, of a schema that is not newer. upto: schema to reach.
    """
    for number in range(int(database.user_version), upto):
        with database.atomic("IMMEDIATE"):
            # Another process may have been quicker while this one waited for its turn.
            if database.user_version == number:
                STEPS[number](database)
                database.user_version = number + 1
