"""The safety goals, each with the figures and the tests that show whether it is held."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from .faults import KINDS

Figures = Mapping[str, object]
HERE = "tests/faults/test_campaign_goals.py::"
ALWAYS = "tests/board/test_judged_always.py::"
TRIPS = "tests/board/test_trips.py::"
WINDOW = "tests/board/test_window.py::"
CUTOFF_SHARE, OFF_MS, CONTACTOR_MS = 0.05, 200.0, 1000.0


@dataclass(frozen=True)
class Goal:
    """One goal. what: in a sentence. held: whether the figures agree. tests: what else shows it."""

    what: str
    held: Callable[[Figures], bool]
    tests: tuple[str, ...]


def _at_most(figures: Figures, name: str, limit: float) -> bool:
    """Whether a figure is there and within a limit."""
    value = figures.get(name)
    return isinstance(value, int | float) and value <= limit


def _none(*names: str) -> Callable[[Figures], bool]:
    return lambda figures: all(figures.get(name) == 0 for name in names)


def _detection(figures: Figures) -> bool:
    """Every class within its bound."""
    return all(
        _at_most(figures, f"worst_detect_s_{kind}", each.clock_s)
        for kind, each in KINDS.items()
        if f"worst_detect_s_{kind}" in figures
    )


GOALS = {
    "G1": Goal(
        "no blanket passes its limit, and the independent cut-off is hardly ever needed",
        lambda figures: _none("over_limit")(figures) and _at_most(figures, "cutoff_needed", CUTOFF_SHARE),
        (HERE + "test_goal_1_no_blanket_passes_its_limit",),
    ),
    "G2": Goal(
        "all outputs are off 0.2 s, the contactor open 1 s after every decision",
        lambda figures: _at_most(figures, "worst_off_ms", OFF_MS)
        and _at_most(figures, "worst_contactor_ms", CONTACTOR_MS),
        (HERE + "test_goal_2_off_is_fast_and_total", TRIPS + "test_first_act_of_a_trip_is_to_switch_off"),
    ),
    "G3": Goal(
        "every class of faults is named in its time",
        lambda figures: _none("undetected")(figures) and _detection(figures),
        (HERE + "test_goal_3_every_class_is_named_in_its_time",),
    ),
    "G4": Goal(
        "nothing flows after a reset until a deliberate press",
        _none("unarmed_energised_half_cycles"),
        (
            HERE + "test_goal_4_nothing_flows_before_a_deliberate_press",
            TRIPS + "test_goal_4_one_reset_is_told_and_heats_nothing",
        ),
    ),
    "G5": Goal(
        "every trip names one cause, the right one",
        _none("wrong_cause"),
        (
            HERE + "test_goal_5_the_cause_is_the_right_one",
            TRIPS + "test_goal_5_first_cause_stands_when_two_come_within_a_second",
            TRIPS + "test_goal_5_trip_has_one_cause_zone_figure_limit_and_time",
        ),
    ),
    "G6": Goal(
        "a trip stays until it is acknowledged, and two resets lock out",
        _none("invariant_violations"),
        (
            TRIPS + "test_goal_6_trip_is_acknowledged_only_by_a_press_when_the_cause_is_gone",
            TRIPS + "test_goal_6_two_resets_in_one_run_lock_out_until_a_press",
        ),
    ),
    "G7": Goal(
        "healthy runs are never interrupted",
        _none("nuisance_trips"),
        (HERE + "test_goal_7_healthy_runs_are_never_interrupted",),
    ),
    "G8": Goal(
        "nothing plausible is made from nothing",
        _none("over_limit"),
        ("tests/board/test_guard.py::test_goal_8_nothing_plausible_from_nothing",),
    ),
    "G9": Goal(
        "ceiling and rise while off are judged in every mode",
        _none("undetected"),
        (
            ALWAYS + "test_goal_9_ceiling_is_judged_in_every_mode",
            ALWAYS + "test_goal_9_rising_while_off_is_judged_in_every_mode_without_heat",
        ),
    ),
    "G10": Goal(
        "any pin, driver or alive line that is stuck or races ends with the contactor open",
        _none("stuck_not_open"),
        (HERE + "test_goal_10_stuck_means_off",),
    ),
    "G11": Goal(
        "swapped, reversed and unplugged sensors are refused at the start",
        lambda figures: _none("wrong_cause", "undetected")(figures)
        and _at_most(figures, "worst_detect_s_wiring", 60.0),
        (HERE + "test_goal_11_right_sensor_right_zone",),
    ),
    "G12": Goal(
        "the host is optional",
        _none("board_undetected", "board_over_limit"),
        ("tests/sim/test_virtual_rig.py::test_a_computer_that_does_not_read_costs_the_board_time_and_never_stops_it",),
    ),
    "G13": Goal(
        "the same with counters about to wrap, clocks wrong by a tenth, and whatever becomes of the flash",
        lambda figures: not _at_most(figures, "clocks_played", 3)
        and _none("over_limit", "board_flash_wrong")(figures),
        (
            HERE + "test_goal_13_clocks_wrap_and_are_wrong",
            "tests/faults/test_campaign_flash.py::test_protection_does_not_hang_on_the_flash",
            "tests/faults/test_failing_flash.py::test_trip_is_total_even_when_the_flash_fails_in_the_same_moment",
        ),
    ),
    "G14": Goal(
        "a start is proved in order, and a failure refuses it",
        _none("undetected"),
        (HERE + "test_goal_14_a_welded_contactor_refuses_the_next_start",),
    ),
    "G15": Goal(
        "branch limit, presence and session bound the exposure",
        lambda figures: _none("over_branch_limit_ms")(figures)
        and _at_most(figures, "worst_detect_s_presence", 840.0)
        and _at_most(figures, "worst_detect_s_session", 7200.0),
        (
            HERE + "test_goal_15_exposure_is_bounded",
            WINDOW + "test_branch_limit_holds_at_every_instant_also_across_window_borders",
        ),
    ),
}  # fmt: skip


def judged(figures: Figures) -> dict[str, dict[str, object]]:
    """Every goal with its verdict from the figures, and the tests to look at."""
    return {
        name: {"what": goal.what, "held": goal.held(figures), "tests": list(goal.tests)}
        for name, goal in GOALS.items()
    }
