"""In a process of its own: lets faults, tests and the walk of the modes loose on the firmware it finds.

Which firmware that is says the search path. Reads what to do as JSON from standard input and writes who has
noticed something as its last line of standard output.
"""

import contextlib
import io
import json
import sys
import time
from pathlib import Path

import pytest

from ribwright_sim.campaign.faults import FAULTS, KINDS
from ribwright_sim.campaign.goals import CONTACTOR_MS, OFF_MS
from ribwright_sim.campaign.phases import warm_states
from ribwright_sim.campaign.play import fault_of
from ribwright_sim.campaign.rigs import draw_setting
from ribwright_sim.campaign.series import Series, cases_of, play_case
from ribwright_sim.campaign.tally import Tally
from ribwright_sim.campaign.work import LONG_SEED, long_setting
from ribwright_sim.modes_check import explore

ROOT = Path(__file__).resolve().parents[2]
# A loaded rig as most are; a bare one whose contactor is watched and whose branch takes one blanket.
RIGS = (Series(4000, 1.0, bare=False), Series(4003, 0.9, bare=True))
# Who else may notice; in the board's interpreter the same files run again, which takes long.
BESIDE = ("board", "faults/test_failing_flash.py", "loop/test_core_loop.py")
LEFT_OUT = "tests/board/test_on_micropython.py"
LONG = Series(LONG_SEED + 4000, 1.0, bare=False)


def trouble(outcome):  # noqa: PLR0911 - whatever is wrong first is the answer
    """What a goal of the campaign finds wrong with an outcome, "" for nothing."""
    tally = Tally(outcomes=[outcome])
    fault = fault_of(outcome.case)
    if tally.over_limit():
        return f"{outcome.hottest_c} C"
    if tally.undetected():
        return "undetected"
    if tally.wrong_cause():
        return f"named {outcome.named}"
    if outcome.unarmed_half_cycles:
        return f"{outcome.unarmed_half_cycles} half cycles that nobody armed"
    if outcome.figures.get("over_us"):
        return "over the branch limit"
    if outcome.how in ("trip", "refused"):
        if outcome.off_ms is None or outcome.off_ms > OFF_MS:
            return f"off after {outcome.off_ms} ms"
        if outcome.contactor_ms is not None and outcome.contactor_ms > CONTACTOR_MS:
            return f"contactor open after {outcome.contactor_ms} ms"
        if fault.kind != "hardware" and (outcome.detect_s or 0.0) > KINDS[fault.kind].clock_s:
            return f"named after {outcome.detect_s} s"
    return ""


def cases(ids):
    """Warm states of each rig with the cases of some faults, the ones of hours last."""
    ordinary = {key for key in ids if any(f.id == key and not f.long for f in FAULTS.values())}
    if ordinary:
        for series in RIGS:
            setting = draw_setting(series.number, series.mains, bare=series.bare)
            yield warm_states(setting), [case for case in cases_of(series) if case.fault in ordinary]
    if "D1" in ids:
        yield warm_states(long_setting(LONG)), cases_of(LONG, long=True)


def in_campaign(ids, known, *, all_of_it=False):
    """Cases that go wrong, the first one alone or all of them, each with what is wrong.

    known: names of cases that go wrong on the unchanged firmware.
    """
    found = {}
    for warm, each in cases(ids):
        if warm.trips and "healthy" not in known:
            found["healthy"] = f"a healthy run ended with {warm.trips[0][1]}"
        for case in each:
            if found and not all_of_it:
                return found
            outcome = None if case.name in known else play_case(warm, case)
            wrong = "" if outcome is None else trouble(outcome)
            if wrong:
                found[case.name] = wrong
    return found


def in_walk(known):
    """Rules that the walk of the modes finds broken, as "walk of RULE", with the first way there.

    known: rules that are broken on the unchanged firmware.
    """
    result = explore(quick=True, enough=10_000 if any(name.startswith("walk") for name in known) else 1)
    found = {f"walk of {each.rule}": each.sentence() for each in reversed(result.violations)}
    return {name: found[name] for name in found if name not in known}


def in_tests(nodes, known):
    """The tests that fail.

    known: tests that fail on the unchanged firmware.
    """
    failed = []

    class Listener:
        def pytest_runtest_logreport(self, report):
            if report.failed:
                failed.append(report.nodeid)

        def pytest_collectreport(self, report):
            if report.failed:
                failed.append(report.nodeid)

    stop = [] if known is None else [f"--deselect={name}" for name in known] + ["-x"]
    words = [
        *stop,
        "-p",
        "no:cacheprovider",
        "-p",
        "no:xdist",
        "-q",
        f"--ignore={LEFT_OUT}",
        *(f"tests/{node}" for node in nodes),
    ]
    code = pytest.main([f"--rootdir={ROOT}", *words], plugins=[Listener()])
    if code not in (pytest.ExitCode.OK, pytest.ExitCode.TESTS_FAILED) and not failed:
        failed.append(f"pytest ended with {code}")
    return failed


def noticed(task):
    """Who notices something first, "" for nobody."""
    known = set(task["known"])
    # Tests are the quickest to notice.
    failed = in_tests(task["tests"], sorted(known)) if task["tests"] else []
    if failed:
        return failed[0]
    try:
        for name, wrong in in_campaign(task["faults"], known).items():
            return f"{name}: {wrong}"
        if task["walk"]:
            for rule, sentence in in_walk(known).items():
                return f"{rule}: {sentence[:200]}"
    except (ArithmeticError, LookupError, TypeError, ValueError, AttributeError, RecursionError) as error:
        return f"raised {type(error).__name__}"
    # Nobody whom it is meant for; perhaps somebody else.
    failed = in_tests(BESIDE, sorted(known))
    return failed[0] if failed else ""


def main():
    """Do what standard input says."""
    task = json.load(sys.stdin)
    begun = time.monotonic()
    with contextlib.redirect_stdout(io.StringIO()):
        if task.get("baseline"):
            found = [*in_campaign(task["faults"], set(), all_of_it=True)]
            found += in_walk(set()) if task["walk"] else []
            answer = {"known": [*found, *(in_tests(task["tests"], None) if task["tests"] else [])]}
        else:
            answer = {"by": noticed(task)}
    answer["seconds"] = round(time.monotonic() - begun, 1)
    print(json.dumps(answer))


if __name__ == "__main__":
    main()
