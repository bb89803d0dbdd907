"""What a maker may ask of a run under way from a computer; loaded when a run is laid out.

None of it is a sign that somebody is there, arms anything or clears a trip: those are presses at the rig.
Every ask takes controller, of the rig, and data, its values as messages.ASKS lists them, checked before; it
answers with names and values, or raises RefusedError with what was seen.
"""

from .errors import RefusedError, shown
from .nudging import KINDS, bounds_k, move
from .twice import Twice

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .controller import Controller
    from .course import Course
    from .profile_values import Stage
    from .shapes import Values

# What was seen of the wood; the log keeps the place, counted from 1, so none ever moves.
MARKS = ("gave_way", "stiff", "cracked", "steam", "steam_eased")
MARKED = ("running", "paused")
MINUTE_MS = 60000
# All stages of a run together last no longer than this beyond what the profile says.
MOST_MIN = 15
# Every act is a record of the log, whose buffer has room for so many between two flushes: ten in a row, then
# one a second.
PACE_MS, AHEAD_MS = 1000, 10000


class Extension:
    """What was added to longest times, whole minutes, both kept twice.

    stage_min: to the present stage. run_min: to all stages of the run.

    stage, run: the same as Twice.
    """

    def __init__(self, stage_min: float, run_min: float) -> None:
        self.stage = Twice(stage_min)
        self.run = Twice(run_min)

    def whole(self) -> bool:
        """Whether all copies still say the same."""
        return self.stage.whole() and self.run.whole()

    def begin(self) -> None:
        """Another stage begins: nothing was added to it."""
        self.stage = Twice(0)

    def stage_ms(self) -> int:
        """What was added to the present stage."""
        return int(self.stage.value) * MINUTE_MS

    def left_min(self, stage: "Stage") -> int:
        """How much more may be added, whole minutes: no stage may last longer than twice its longest time.

        stage: the present one.
        """
        least = min((stage.longest_ms or 0) // MINUTE_MS - self.stage.value, MOST_MIN - self.run.value)
        return max(0, int(least))


def _under_way(controller: "Controller", act: str) -> "tuple[Course, Stage]":
    """The run and the stage that is on."""
    course = controller.course
    stage = course.runner.stage if course is not None else None
    if course is None or stage is None or controller.mode != "running":
        text = "the rig is %s, there is nothing to %s"
        raise RefusedError("not_running", text % (controller.mode, act))
    return course, stage


def _hold_or_set(course: "Course", stage: "Stage", what: str) -> None:
    if stage.kind not in KINDS:
        text = "stage %d is a %s stage; only a hold or a set can be %s"
        raise RefusedError("stage_kind", text % (course.runner.index + 1, stage.kind, what))


def _pace(course: "Course", now_ms: int) -> None:
    due_ms = max(course.act_ms, now_ms) + PACE_MS
    if due_ms - now_ms > AHEAD_MS:
        raise RefusedError("too_soon", "the log takes one a second after ten in a row; wait, then ask again")
    course.act_ms = due_ms


def ask_nudge(controller: "Controller", data: "Values") -> "Values":
    """Move the target of the hold or set that is on, as the knob does, by `by_k` whole kelvin."""
    course, stage = _under_way(controller, "move")
    _hold_or_set(course, stage, "moved")
    least_k, most_k = bounds_k(stage, controller.rig)
    moved_k = int(course.runner.by_hand.moved_k())
    by_k = data["by_k"]
    if min(most_k, max(least_k, moved_k + by_k)) == moved_k:
        text = "the target stands %+d K from the profile's and may be moved from %+d to %+d K; it stays"
        raise RefusedError("bound", text % (moved_k, least_k, most_k))
    _pace(course, controller.now_ms)
    return {"mode": controller.mode, "target": move(controller, course.runner, stage, by_k)}


def ask_extend(controller: "Controller", data: "Values") -> "Values":
    """Let the hold or set that is on last `minutes` longer: what its clock counts, and its longest time."""
    course, stage = _under_way(controller, "extend")
    _hold_or_set(course, stage, "extended")
    runner, minutes = course.runner, data["minutes"]
    before = runner.by_hand.extension or Extension(0, 0)
    left_min = before.left_min(stage)
    if minutes > left_min:
        text = "%d min more are too many, %d are left: at most a stage's longest time again, %d min in a run"
        raise RefusedError("bound", text % (minutes, left_min, MOST_MIN))
    _pace(course, controller.now_ms)
    run_min = before.run.value + minutes
    runner.by_hand.extension = Extension(before.stage.value + minutes, run_min)
    left_s = runner.left_ms() // 1000
    controller.note("extend", -1, minutes, left_s)
    return {"mode": controller.mode, "left_s": left_s}


def ask_back_off(controller: "Controller", _data: "Values") -> "Values":
    """Leave a ramp or hold for the next set stage that is no hotter, or for cooling."""
    course, stage = _under_way(controller, "back off from")
    runner = course.runner
    if stage.kind in ("set", "cool"):
        done = "is set" if stage.kind == "set" else "cools"
        text = "stage %d %s already; stop ends the run with every relay off"
        raise RefusedError("stage_kind", text % (runner.index + 1, done))
    _pace(course, controller.now_ms)
    # By hand nothing gets hotter, whatever the profile's set stage says.
    to = runner.after_longest((stage.target_c or 0.0) + runner.by_hand.moved_k())
    controller.note("back_off", -1, runner.index + 1, to + 1)
    runner.begin(to)
    course.take()
    controller.follow(course)
    return {"mode": controller.mode, "stage": to + 1}


def ask_mark(controller: "Controller", data: "Values") -> "Values":
    """Note in the log `what` was seen of the wood; nothing else comes of it."""
    course = controller.course
    if course is None or controller.mode not in MARKED:
        raise RefusedError("not_running", "the rig is %s, there is no run to mark" % controller.mode)
    what = data["what"]
    if what not in MARKS:
        text = "no mark is called %s; there are: %s"
        raise RefusedError("mark", text % (shown(what), ", ".join(MARKS)))
    _pace(course, controller.now_ms)
    controller.note("mark", -1, MARKS.index(what) + 1, 0, what)
    return {"mode": controller.mode}


_ACTS = {"nudge": ask_nudge, "extend": ask_extend, "back_off": ask_back_off, "mark": ask_mark}


def carry_out(controller: "Controller", verb: str, data: "Values") -> "Values":
    """Do what was asked; the answer.

    controller: of the rig. verb: nudge, extend, back_off or mark. data: checked by the table of messages.
    Raises RefusedError: not_running, stage_kind, bound, mark or too_soon, each with what was seen.
    """
    return _ACTS[verb](controller, data)
