"""What a board has counted in its life: runs, heat, how often each relay has come on."""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .shapes import Any, Values


def _whole(value: "Any") -> int:
    """A count as it was stored; 0 for what is none."""
    return value if isinstance(value, int) and not isinstance(value, bool) and value >= 0 else 0


def _list(value: "Any", zones: int) -> list[int]:
    """Counts of every zone; zeros for another rig's."""
    if isinstance(value, list) and len(value) == zones:
        return [_whole(one) for one in value]
    return [0] * zones


def added(counted: "Values", run: int, tripped: bool, worked: list[tuple[int, int]]) -> "Values":
    """The counters after a run.

    counted: as stored, whatever is wrong with it. run: its number. tripped: it ended by a trip. worked: per
    zone how often its relay came on and for how many ms.

    run is the highest number that was given, runs and trips are counts, on_s the seconds each relay was on,
    switches how often it came on.
    """
    on_s = _list(counted.get("on_s"), len(worked))
    switches = _list(counted.get("switches"), len(worked))
    for zone in range(len(worked)):
        times, on_ms = worked[zone]
        switches[zone] += times
        on_s[zone] += (on_ms + 500) // 1000
    return {
        "run": max(_whole(counted.get("run")), run),
        "runs": _whole(counted.get("runs")) + 1,
        "trips": _whole(counted.get("trips")) + (1 if tripped else 0),
        "on_s": on_s,
        "switches": switches,
    }
