"""Small runs of the demo's sapele sides, as `ribwright fetch` writes them."""

from host.test_logbook import POWER_W, PROFILE, LogMaker
from ribwright_host.logbook import read_log, write_csv

REAL_BOARD = "e6614103e7452b2f"
PIECE = PROFILE["piece"] | {"tightest_radius_mm": 45, "moisture_percent": 12}


def bend_log(number=7, *, board=REAL_BOARD, hot_s=60, start_c=23, peak_c=152, set_s=40, unix=1_795_000_000):
    """Bytes of a bend that can be reckoned by hand, one row a second.

    10 s at start_c, hot_s at peak_c (half the time on), set_s of the set at 121 C, 10 s at 60 C; zone full
    reads 20 C all along and is off.
    """
    log = LogMaker(board=board, run=number, unix=unix, profile=PROFILE | {"piece": PIECE})
    at_s = 0
    for stage, seconds, target, reading, on_ms in (
        (0, 10, 150, start_c, 1000),
        (1, hot_s, 150, peak_c, 500),
        (4, set_s, 120, 121, 250),
        (5, 10, None, 60, 0),
    ):
        for _ in range(seconds):
            at_s += 1
            log.row(at_s * 1000, stage, [(target, reading, on_ms / 1000, on_ms), (None, 20, 0, 0)])
    log.event(at_s * 1000, "done", stage=5)
    return log.bytes()


def bend_file(folder, number=7, **how):
    """The same as CSV and JSON; the CSV's path."""
    path = folder / f"run-{number}{'-sim' if 'board' in how else ''}.csv"
    write_csv(read_log(bend_log(number, **how), POWER_W), path)
    return path
