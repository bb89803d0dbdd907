"""What the rig's display shows, decided from the controller's state; how it is drawn is the driver's.

A face is a tuple of short texts: (figure, top, mark, side, low, asked). figure: the measured temperature of
the zone in work, at most three characters, dashes where there is no reading. top: stage or mode. mark: what
heat does. side: four lines of six characters: zone, target, time, unit. low: two lines of sixteen. asked: the
low lines ask something of the maker.
"""

from .modes import HEAT_MODES
from .units import TENTHS_MISSING, in_unit

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .alone import Alone
    from .controller import Controller
    from .stages import StageRunner

    Face = tuple[str, str, str, tuple[str, str, str, str], tuple[str, str], bool]

LINE = 16
SIDE = 6
NO_READING = "---"
# Heat flowed in the last second; it may flow; it cannot.
HEAT, MAY, OFF = "HEAT", "heat", "off"
TRIP = "SHUT DOWN"


def wrapped(text: str) -> tuple[str, str]:
    """A text on two lines of the display, broken between words; what is left over is cut off.

    text: of any length.

    >>> wrapped("lower bout, then the upper one")
    ('lower bout, then', 'the upper one')
    """
    if len(text) <= LINE:
        return text, ""
    cut = text.rfind(" ", 0, LINE + 1)
    if cut <= 0:
        cut = LINE
    return text[:cut], text[cut:].strip()[:LINE]


def clock(ms: int) -> str:
    """Minutes and seconds, whole minutes from 100 of them on.

    ms: a time of 0 or more.

    >>> clock(245000), clock(7200000)
    ('4:05', '120min')
    """
    seconds = ms // 1000
    return "%d:%02d" % (seconds // 60, seconds % 60) if seconds < 6000 else "%dmin" % (seconds // 60)


def figure(tenths_c: int, unit: str) -> str:
    """A reading in whole degrees; dashes where there is none, or none of this rig.

    tenths_c: tenths of a degree C, or the mark for a missing one. unit: "C" or "F".

    >>> figure(1498, "C"), figure(1498, "F"), figure(TENTHS_MISSING, "C")
    ('150', '302', '---')
    """
    if tenths_c == TENTHS_MISSING:
        return NO_READING
    shown = int(in_unit(tenths_c / 10.0, unit) + 1000.5) - 1000
    return str(shown) if -100 < shown < 1000 else NO_READING


def zone_shown(controller: "Controller") -> int:
    """Position of the zone whose reading is shown: that of a trip, the coolest one of a stage that heats,
    else the hottest. One that gives no reading comes first.

    controller: of the rig.
    """
    trip, runner = controller.guard.trip, controller.runner
    rows = controller.drive.figures.rows
    if trip is not None:
        return max(trip.zone, 0)
    stage = runner.stage if runner is not None and controller.mode in ("running", "paused") else None
    heated = stage is not None and stage.target_c is not None
    found = -1
    for zone in stage.zones if stage is not None and heated else range(len(rows)):
        seen = rows[zone][1]
        if seen == TENTHS_MISSING:
            return zone
        if found < 0 or (seen < rows[found][1] if heated else seen > rows[found][1]):
            found = zone
    return found


def _time(runner: "StageRunner") -> str:
    """Time left of a stage with an end by the clock, with a plus the time since it began of any other."""
    stage = runner.stage
    if stage is None:
        return ""
    if stage.hold_ms is not None and not runner.cue():
        return clock(max(0, stage.hold_ms + runner.by_hand.more_ms() - runner.held_ms))
    if stage.longest_ms is not None and stage.kind in ("hold", "set"):
        return clock(runner.left_ms())
    return "+" + clock(runner.stage_ms)


def _asked(controller: "Controller", alone: "Alone", runner: "StageRunner") -> tuple[tuple[str, str], bool]:
    """The low lines of a run under way, and whether they ask something."""
    waiting, stage = controller.waiting(), runner.stage
    if waiting == "presence":
        return ("are you there?", "press a button"), True
    picked = _picked(alone)
    if picked:
        return picked, False
    cue = runner.cue()
    if cue:
        return ((cue, "then press next") if len(cue) <= LINE else wrapped(cue)), True
    if waiting == "next":
        return ("press next when", "it is bent"), True
    return wrapped(stage.name if stage is not None else ""), False


def _picked(alone: "Alone") -> "tuple[str, str] | tuple[()]":
    """The low lines of the list at the knob, or what came of it; empty where it is closed."""
    return () if alone.acts is None else alone.acts.low()


def _mark(controller: "Controller") -> str:
    if controller.mode not in HEAT_MODES or controller.guard.trip is not None:
        return OFF
    course = controller.course
    if controller.mode == "running" and (course is None or not course.heats()):
        return OFF
    return HEAT if max([row[3] for row in controller.drive.figures.rows]) > 0 else MAY


def _running(controller: "Controller", alone: "Alone", runner: "StageRunner", zone: int, mark: str) -> "Face":
    """The face of a run under way."""
    unit, name = controller.rig.unit, controller.rig.zones[zone].name[:SIDE]
    target_c, stage = runner.targets_c[zone], runner.stage
    target = "" if target_c is None else "to " + figure(int(target_c * 10.0 + 0.5), unit)
    moved = runner.by_hand.nudge
    nudge = "deg " + unit if moved is None else "%s%+dK" % (unit, int(moved.value))
    kind = stage.kind if stage is not None else ""
    top = "%d/%d %s" % (runner.index + 1, len(runner.profile.stages), kind)
    low, asked = _asked(controller, alone, runner)
    shown = figure(controller.drive.figures.rows[zone][1], unit)
    return shown, top, mark, (name, target, _time(runner), nudge), low, asked


def _resting(controller: "Controller", alone: "Alone") -> tuple[str, tuple[str, str], bool]:
    """Top, low lines and whether they ask, of every other mode."""
    mode, profile = controller.mode, controller.profile
    if mode == "proving":
        return "checking", ("stand back, the", "rig is checked"), False
    if mode == "paused":
        picked = _picked(alone)
        return ("paused", picked, False) if picked else ("paused", ("start: goes on", "with heat"), True)
    if mode == "ready":
        name = profile.name[:LINE] if profile is not None else ""
        first = controller.course.first if controller.course is not None else 0
        return "from %d" % (first + 1) if first else "ready", (name, "start: heat on"), True
    if alone.said:
        return "at rest", alone.said, True
    if not alone.keys:
        return "at rest", ("no profile here", "upload one first"), False
    return "%d of %d" % (alone.at + 1, len(alone.keys)), wrapped(alone.name), False


def face(controller: "Controller", alone: "Alone") -> "Face":
    """What is to be shown now.

    controller: of the rig. alone: what is chosen at rest, and what came of the last run.
    """
    rig, trip, runner = controller.rig, controller.guard.trip, controller.runner
    zone = zone_shown(controller)
    mark = _mark(controller)
    if controller.mode == "running" and runner is not None:
        return _running(controller, alone, runner, zone, mark)
    name, unit = rig.zones[zone].name[:SIDE], "deg " + rig.unit
    shown = figure(controller.drive.figures.rows[zone][1], rig.unit)
    if trip is not None:
        low = (trip.code.replace("_", " "), "look, then start")
        return shown, TRIP, mark, (name if trip.zone >= 0 else "rig", "", "", unit), low, True
    top, low, asked = _resting(controller, alone)
    chooses = controller.mode == "idle" and not asked and len(alone.keys) > 0
    hint = ("start:", "ready") if chooses else ("", "")
    return shown, top, mark, (name, unit, hint[0], hint[1]), low, asked
