"""Modes of the rig as one table: modes x events. Tripped absorbs; off is the resting state."""

# idle: nothing to do, off. ready: a run is laid out and waits for the press at the rig, off.
# proving: the press was made, the rig is being proved. running: a profile drives the zones.
# paused: off, the profile's time stands still; going on takes a press and a short proof.
# tripped: off until acknowledged at the rig.
MODES = ("idle", "ready", "proving", "running", "paused", "tripped")

# Only press and acknowledge come from a finger at the rig; no message of the link makes them.
EVENTS = ("lay_out", "press", "proved", "refused", "finish", "pause", "stop", "trip", "acknowledge")

TRANSITIONS = {
    ("idle", "lay_out"): "ready",
    ("ready", "lay_out"): "ready",
    ("ready", "press"): "proving",
    ("ready", "stop"): "idle",
    ("proving", "proved"): "running",
    ("proving", "refused"): "idle",
    ("proving", "stop"): "idle",
    ("running", "finish"): "idle",
    ("running", "pause"): "paused",
    ("running", "stop"): "idle",
    ("paused", "press"): "proving",
    ("paused", "stop"): "idle",
    ("idle", "trip"): "tripped",
    ("ready", "trip"): "tripped",
    ("proving", "trip"): "tripped",
    ("running", "trip"): "tripped",
    ("paused", "trip"): "tripped",
    ("tripped", "trip"): "tripped",
    ("tripped", "acknowledge"): "idle",
}

# The only modes in which a relay may be on: a profile's heat, and the small pulses of the proof.
HEAT_MODES = ("running", "proving")


def advance(mode: str, event: str) -> str:
    """The mode after an event; an event the table does not know in a mode changes nothing.

    mode: one of MODES. event: one of EVENTS.

    >>> advance("ready", "press"), advance("tripped", "press")
    ('proving', 'tripped')
    """
    return TRANSITIONS.get((mode, event), mode)
