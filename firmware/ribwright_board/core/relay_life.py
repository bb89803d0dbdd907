"""How often a mechanical relay may switch, from what its maker rates it for and how long it shall last."""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .checks import Table

# Windows are whole tenths of a second, none longer than this.
GRAIN_MS = 100
LONGEST_MS = 20000
MS_PER_HOUR = 3600000.0


def shortest_window_ms(operations: float, hours: float) -> int:
    """Shortest relay window with which a relay lasts, ms: it comes on at most once in each.

    operations: rated at this load. hours: of heating it shall last.
    """
    tenths = hours * MS_PER_HOUR / operations / GRAIN_MS
    whole = int(tenths)
    return (whole if whole == tenths else whole + 1) * GRAIN_MS


def window_for(table: "Table", relay: str | None) -> int:
    """Shortest window one zone's relay allows, ms; 0 where its life is not stated.

    table: the zone's. relay: its kind, None when that is wrong.
    """
    operations = table.number("relay_operations", 1000, 100000000, "operations", False)
    hours = table.number("relay_hours", 1, 100000, "h", False)
    if operations is None and hours is None:
        return 0
    if relay is not None and relay != "mechanical":
        key = "relay_hours" if operations is None else "relay_operations"
        table.add("range", table.where + (key,), "is for mechanical relays; leave it out")
        return 0
    if operations is None or hours is None:
        key = "relay_operations" if operations is None else "relay_hours"
        table.add("missing", table.where + (key,), "is needed beside the other; state both or none")
        return 0
    window_ms = shortest_window_ms(operations, hours)
    if window_ms > LONGEST_MS:
        table.add(
            "range",
            table.where + ("relay_hours",),
            "is %d h, %d operations last %d h with windows of %d s; lower it, or use another relay"
            % (hours, operations, operations * LONGEST_MS / MS_PER_HOUR, LONGEST_MS // 1000),
        )
        return LONGEST_MS
    return window_ms
