"""What the controller says has happened, by name, and each event's number in the run log."""

# Number in the log of every event, and what a and b mean. Numbers are never reused.
EVENTS = {
    "press": (1, "the start button was pressed at the rig"),
    "proving": (2, "the rig is being proved before heat"),
    "proved": (3, "every check passed; heat is allowed"),
    "refused": (4, "a check failed; the run does not start; a = fault number"),
    "stage": (5, "stage begins; a = stage counted from 1, b = target in tenths of a degree C"),
    "arrived": (6, "the zone reached its target; a = tenths of a degree C"),
    "cue": (7, "a cue waits for the maker; a = cue counted from 1"),
    "cue_done": (8, "the maker acknowledged the cue: the strip meets the form here; a = cue"),
    "hold_warning": (9, "four fifths of the longest time are gone; a = seconds left"),
    "hold_longest": (10, "the longest time is over; the run falls back to its set stage"),
    "next": (11, "the maker went on"),
    "pause": (12, "the run is paused, heat off"),
    "resume": (13, "the run goes on after a press at the rig"),
    "stop": (14, "the run was stopped, heat off"),
    "done": (15, "the run ended as its profile says"),
    "trip": (16, "shut down; a = fault number, b = reading in tenths of a degree C"),
    "acknowledged": (17, "the trip was acknowledged at the rig"),
    "zone_off": (18, "a zone is held off; a = fault number"),
    "zone_back": (19, "the zone's readings are good again"),
    "branch_limited": (20, "the zones wanted more than the branch allows; a = sum of duties kept, permille"),
    "late": (21, "the loop was late; a = ms"),
    "log_lost": (22, "the log could not be written on; the run goes on without it"),
    "suspect": (23, "something is doubtful, and power may be limited; a = fault number"),
    "suspect_over": (24, "the doubt is gone; a = fault number"),
    "presence": (25, "press any button to say that you are there; a = seconds left"),
    "presence_given": (26, "the maker is there"),
    "interrupted": (27, "a run was cut off by a reset or by the mains; a = its number, b = resets in it"),
    "wood_hot": (
        28,
        "the middle of the wood is estimated hot enough; a = tenths of a degree C, b = stage counted from 1",
    ),
    "wood_late": (
        29,
        "the run goes on, the middle of the wood is not hot enough yet; a = tenths of a degree C, b = stage",
    ),
    "made_room": (30, "the oldest run gave its room on the flash to the next one; a = its number"),
}


def event_number(name: str) -> int:
    """Number of an event in the log.

    name: key of EVENTS.
    """
    return EVENTS[name][0]


def event_name(number: int) -> str:
    """Name of an event from its number; "unknown" for one of a newer firmware.

    number: as event_number() gives it.
    """
    for name, entry in EVENTS.items():
        if entry[0] == number:
            return name
    return "unknown"
