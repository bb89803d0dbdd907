"""What the controller says has happened, by name, and each event's number in the run log.

What an event and its two figures a and b mean is in event_words.py, which no board loads.
"""

# Numbers are never reused.
EVENTS = {
    "press": 1,
    "proving": 2,
    "proved": 3,
    "refused": 4,
    "stage": 5,
    "arrived": 6,
    "cue": 7,
    "cue_done": 8,
    "hold_warning": 9,
    "hold_longest": 10,
    "next": 11,
    "pause": 12,
    "resume": 13,
    "stop": 14,
    "done": 15,
    "trip": 16,
    "acknowledged": 17,
    "zone_off": 18,
    "zone_back": 19,
    "branch_limited": 20,
    "late": 21,
    "log_lost": 22,
    "suspect": 23,
    "suspect_over": 24,
    "presence": 25,
    "presence_given": 26,
    "interrupted": 27,
    "wood_hot": 28,
    "wood_late": 29,
    "made_room": 30,
    "nudge": 31,
    "no_display": 32,
    "extend": 33,
    "back_off": 34,
    "mark": 35,
}


def event_number(name: str) -> int:
    """Number of an event in the log.

    name: key of EVENTS.
    """
    return EVENTS[name]


def event_name(number: int) -> str:
    """Name of an event from its number; "unknown" for one of a newer firmware.

    number: as event_number() gives it.
    """
    for name, known in EVENTS.items():
        if known == number:
            return name
    return "unknown"
