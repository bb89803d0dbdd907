"""A hold's target moved by hand, within limits: at the knob, or from a computer."""

from .twice import Twice
from .units import TARGET_MARGIN_K, TARGET_MIN_C, tenths

TYPE_CHECKING = False
if TYPE_CHECKING:
    from .controller import Controller
    from .profile_values import Stage
    from .rig_values import Rig
    from .stages import StageRunner

# What the profile says is what was thought over; by hand it moves no farther than this.
MOST_K = 10
KINDS = ("hold", "set")


def bounds_k(stage: "Stage", rig: "Rig") -> tuple[int, int]:
    """How far a stage's target may be moved down and up, in whole kelvin, 0 and 0 where not at all.

    stage: of the checked profile. rig: whose ceilings leave room for overshoot.

    Never beyond what a profile could have asked for in the first place.
    """
    target_c = stage.target_c
    if target_c is None or stage.kind not in KINDS:
        return 0, 0
    highest_c = min([rig.zones[zone].ceiling_c for zone in stage.zones]) - TARGET_MARGIN_K
    least_k = -min(MOST_K, int(max(0.0, target_c - TARGET_MIN_C)))
    return least_k, min(MOST_K, int(max(0.0, highest_c - target_c)))


class Nudge(Twice):
    """By how much a hold's target has been moved, K; kept twice, as the target is."""

    def lasts(self, before: "Stage | None", following: "list[Stage]") -> bool:
        """Whether it goes on in the next stage: one that holds the same zones at the same target.

        before: the stage it was made in. following: the next one, or nothing.
        """
        if before is None or not following or following[0].kind != before.kind:
            return False
        return following[0].zones == before.zones and following[0].target_c == before.target_c


def nudge(controller: "Controller", steps_k: int) -> None:
    """Move the present hold's target by hand; a stage that has none to move stays as it is.

    controller: of the rig, which gets the event. steps_k: kelvin, up or down.

    Whoever turns is there; where that was asked, a turn is the answer and no more.
    """
    course = controller.course
    if course is None or controller.mode != "running":
        return
    if course.attend.touch():
        controller.note("presence_given")
        return
    runner = course.runner
    stage = runner.stage
    if stage is None or stage.target_c is None:
        return
    move(controller, runner, stage, steps_k)


def move(controller: "Controller", runner: "StageRunner", stage: "Stage", steps_k: int) -> int:
    """Move a stage's target as far as its bounds allow; where it is then, tenths of a degree C.

    controller: gets the event, where there is something to tell. runner: of the run. stage: the present one.
    steps_k: kelvin, up or down.
    """
    least_k, most_k = bounds_k(stage, controller.rig)
    before_k = runner.by_hand.moved_k()
    now_k = min(most_k, max(least_k, int(before_k) + steps_k))
    target = tenths((stage.target_c or 0.0) + now_k)
    if now_k != before_k:
        runner.by_hand.nudge = Nudge(float(now_k))
        controller.note("nudge", stage.zones[0], target, now_k)
    return target
