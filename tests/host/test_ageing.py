"""Slow changes of a rig are found in its runs; none where there is none, none from what does not compare."""

import json
import random

import pytest
from click.testing import CliRunner

from host.test_logbook import PROFILE, LogMaker
from ribwright_host.ageing import LEAST_RUNS, ageing, seen_in, trend
from ribwright_host.cli import cli
from ribwright_host.errors import UsageError
from ribwright_host.logbook import write_csv
from ribwright_host.runlog import read_log

HOLD = next(at for at, stage in enumerate(PROFILE["stages"]) if stage["kind"] == "hold")
TARGET_C = float(PROFILE["stages"][HOLD]["target"])
ROOM_C = 21.0


def one_run(number, *, rise_k_per_s=0.8, hold_share=0.3, start_c=ROOM_C, noise_k=0.2, **changes):
    """A run with a warm-up of the waist at full power and four minutes of a hold with this share of it."""
    noise = random.Random(number)
    log = LogMaker(run=number, unix=1_767_261_600 + 86_400 * number, **changes)
    second, at_c = 0, start_c
    while at_c < TARGET_C:
        second += 1
        at_c = start_c + rise_k_per_s * second
        shown_c = at_c + noise.gauss(0, noise_k)
        log.row(second * 1000, HOLD - 1, [(TARGET_C, shown_c, 1.0, 1000), (None, start_c, 0, 0)])
    for _ in range(240):
        second += 1
        shown_c = TARGET_C + noise.gauss(0, noise_k)
        log.row(
            second * 1000,
            HOLD,
            [(TARGET_C, shown_c, hold_share, round(1000 * hold_share)), (None, start_c, 0, 0)],
        )
    return read_log(log.bytes(), {"waist": 100.0, "full": 400.0})


def files(tmp_path, runs):
    """The runs as files."""
    paths = []
    for at, run in enumerate(runs):
        paths.append(tmp_path / f"run-{at}.csv")
        write_csv(run, paths[-1])
    return paths


def found(paths):
    """Trends of the only group, by zone and figure."""
    (group,) = ageing(paths)["groups"]
    return {(one["zone"], one["what"]): one for one in group["trends"]}


def test_one_run_tells_the_rise_at_full_power_and_the_power_to_hold():
    waist, full = seen_in(one_run(1, rise_k_per_s=0.8, hold_share=0.3))
    assert waist.warm_k_per_s == pytest.approx(0.8, rel=0.02)
    # 30 W over the kelvins from the room to the target.
    assert waist.hold_w_per_k == pytest.approx(0.3 * 100.0 / (TARGET_C - ROOM_C), rel=0.01)
    assert (full.warm_k_per_s, full.hold_w_per_k) == (None, None)


def test_a_blanket_that_fades_is_found_and_named_and_holding_is_not(tmp_path):
    # A fifth less at the end of ten runs; the hold stays as it is, but for a per cent of scatter.
    scatter = random.Random(5)
    shares = [0.3 * scatter.gauss(1, 0.01) for _ in range(10)]
    runs = [one_run(n, rise_k_per_s=0.8 * (1 - 0.022 * n), hold_share=shares[n]) for n in range(10)]
    told = found(files(tmp_path, runs))
    warm = told[("waist", "warm")]
    assert warm["notable"]
    assert warm["change"] == pytest.approx(-0.2, abs=0.03)
    assert warm["low"] < -0.2 < warm["high"] + 0.03
    assert "warms more slowly: mains voltage" in warm["sentence"]
    hold = told[("waist", "hold")]
    assert not hold["notable"]
    assert "nothing to see" in hold["sentence"]
    assert "not enough yet, 0 cold runs" in told[("full", "warm")]["sentence"]


def test_scatter_alone_is_no_trend():
    wrong = 0
    for seed in range(40):
        scatter = random.Random(seed)
        wrong += trend("waist", "warm", [0.8 * scatter.gauss(1, 0.05) for _ in range(12)]).notable
    assert wrong <= 2


def test_one_odd_run_moves_nothing():
    # Worked by hand: the median of all slopes between two of these is 1, the line goes through the medians, 3
    # and 14, so it begins at 11 and gains 6.
    values = [10.0, 11.0, 12.0, 90.0, 14.0, 15.0, 16.0]
    assert trend("waist", "hold", values).change == pytest.approx(6.0 / 11.0, abs=1e-9)


def test_few_runs_warm_starts_and_other_profiles_do_not_count(tmp_path):
    few = found(files(tmp_path, [one_run(n) for n in range(LEAST_RUNS - 1)]))
    assert few[("waist", "warm")]["change"] is None
    assert (
        f"{LEAST_RUNS - 1} cold runs tell it and {LEAST_RUNS} are needed"
        in few[("waist", "warm")]["sentence"]
    )
    mixed = [one_run(n) for n in range(4)] + [one_run(n, start_c=45.0) for n in range(4, 9)]
    assert found(files(tmp_path, mixed))[("waist", "warm")]["runs"] == 4
    others = [one_run(n, profile_hash="b77c") for n in range(3)] + [one_run(n) for n in range(3)]
    assert [group["runs"] for group in ageing(files(tmp_path, others))["groups"]] == [3, 3]


def test_runs_from_a_later_stage_are_a_group_of_their_own(tmp_path):
    runs = [one_run(n, from_stage=1 + n % 2) for n in range(6)]
    assert [group["runs"] for group in ageing(files(tmp_path, runs))["groups"]] == [3, 3]


def test_runs_are_taken_in_the_order_of_their_time_not_of_their_names(tmp_path):
    runs = [one_run(n, rise_k_per_s=0.6 + 0.02 * n) for n in range(8)]
    assert found(files(tmp_path, runs[::-1]))[("waist", "warm")]["change"] > 0.15


def test_command_says_it_and_needs_a_run(tmp_path):
    paths = files(tmp_path, [one_run(n, hold_share=0.2 + 0.01 * n) for n in range(8)])
    told = CliRunner().invoke(cli, ["ageing", *map(str, paths)])
    assert told.exit_code == 0, told.output
    assert "takes more to hold" in " ".join(told.output.split())
    as_json = CliRunner().invoke(cli, ["ageing", "--json", *map(str, paths)])
    assert json.loads(as_json.stdout)["groups"][0]["runs"] == 8
    with pytest.raises(UsageError, match="no run is named"):
        ageing([])
