"""The proof through the whole tick, with blankets that do what the fault says."""

from board.controller_bench import Bench
from board.proof_feed import Feed
from board.samples import put
from board.warm import RESPONSE_K_PER_S
from ribwright_board.core.errors import FAULTS

# In plain numbers: a rule that has grown weaker shows here.
MOST_RISE_K = 12.0
WARM_GOOD_S = 6


def refused_after(change):
    """Seconds to the refusal of a bench that something was done to, its code, zone, and the most it rose."""
    bench = Bench()
    change(bench)
    bench.proving()
    top_c = 0.0
    seconds = 0
    while bench.controller.mode == "proving":
        bench.tick()
        seconds += 1
        top_c = max([top_c] + bench.blankets.temps_c)
    assert bench.tick() == [False, False]
    # What runs away fast enough is not the proof's business alone.
    code, zone = bench.trip() if bench.controller.mode == "tripped" else bench.refusal()
    return code, zone, seconds / 10.0, top_c - 20.0


def test_goal_14_welded_contactor_is_found_before_it_is_needed():
    def welded(bench):
        bench.blankets.welded = True
        # As a blanket of 0.8 W/cm2 between slats answers.
        bench.blankets.response = [1.7, 1.7]

    code, _, seconds, rise_k = refused_after(welded)
    assert code == "contactor_closed"
    assert seconds <= 9.0
    # Three seconds of zones at full power are what the test costs.
    assert rise_k <= 3.2 * 1.7


def test_goal_14_files_that_fail_their_check_refuse_the_start():
    for word in ("files", "bus"):
        bench = Bench()
        bench.controller.preflight = lambda word=word: word
        bench.proving()
        bench.until(lambda bench=bench: bench.controller.mode != "proving")
        assert (bench.controller.mode, bench.refusal()) == ("idle", (word, -1))
        assert bench.blankets.relays_ms == [0, 0]


def test_goal_14_memory_that_changed_since_the_laying_out_refuses_the_start():
    bench = Bench().made_ready()
    bench.profile.stages[0].target_c = 250.0
    bench.tick("start")
    # Judged every second from the laying out on, not only when the proof asks.
    bench.until(lambda: bench.controller.mode not in ("proving", "ready"), 3)
    assert bench.trip() == ("memory", -1)
    assert bench.blankets.relays_ms == [0, 0]


def test_goal_11_crossed_zones_are_refused_before_ten_kelvin_and_a_minute():
    def crossed(bench):
        bench.blankets.relay_of = [1, 0]

    code, zone, seconds, rise_k = refused_after(crossed)
    assert (code, zone) == ("swapped", 0)
    assert seconds < 60.0
    assert rise_k < 10.0


def test_goal_11_reversed_sensor_is_refused_before_ten_kelvin_and_a_minute():
    bench = Bench().proving()
    top_c = 0.0
    spent_ms = bench.now_ms
    while bench.controller.mode == "proving":
        bench.shown_c = [40.0 - bench.blankets.temps_c[0], None]
        bench.tick()
        top_c = max([top_c] + bench.blankets.temps_c)
    assert bench.refusal() == ("reversed", 0)
    assert top_c - 20.0 < 10.0
    assert bench.now_ms - spent_ms < 60000


def test_goal_11_unplugged_sensor_is_refused_without_any_heat():
    bench = Bench().made_ready()
    bench.tick("start", items=bench.faulty("open", 1))
    while bench.controller.mode == "proving":
        bench.tick(items=bench.faulty("open", 1))
    assert bench.controller.mode in ("idle", "tripped")
    assert bench.blankets.relays_ms == [0, 0]


def test_dead_zone_and_half_a_zone_are_refused():
    assert FAULTS["heat_while_off"][1] == FAULTS["fast_rise"][1]
    for share, wanted in ((0.0, "no_rise"), (0.2, "weak_rise"), (2.0, "fast_rise"), (3.7, "fast_rise")):

        def scaled(bench, share=share):
            bench.blankets.response[1] = share * RESPONSE_K_PER_S

        code, zone, _, rise_k = refused_after(scaled)
        assert (code, zone) == (wanted, 1), share
        # What rises too fast is stopped at the tick of the second that shows it.
        assert rise_k < MOST_RISE_K + 0.3 * 3.7 * RESPONSE_K_PER_S + 1.0


def test_goal_15_pulses_and_weld_test_keep_the_branch_limit():
    bench = Bench(change=put("mains", "branch_limit_a", 3)).proving()
    controller = bench.controller
    off_ms = [-1000, -1000]
    was = [False, False]
    both = 0
    while controller.mode == "proving":
        for at_ms in range(bench.now_ms, bench.now_ms + 100, 10):
            states = list(controller.outputs(at_ms))
            for zone in (0, 1):
                if was[zone] and not states[zone]:
                    off_ms[zone] = at_ms
                if states[zone] and not was[zone]:
                    # A zero-crossing relay conducts until its next zero, 9 ms at 60 Hz.
                    assert not states[1 - zone]
                    assert at_ms - off_ms[1 - zone] >= 9
            both += states[0] and states[1]
            was = states
        bench.tick()
    assert both == 0
    assert controller.mode == "running"


def falling(seconds, fall_k_per_s, then_k_per_s):
    """Verdict of a proof on a warm stack whose first zone falls by so much a second, and then otherwise."""
    feed = Feed()
    feed.temps_c = [120.0, 60.0]
    for second in range(40):
        if feed.proof._pulsed or feed.proof._step == "answer":
            return "stay"
        feed.temps_c[0] -= fall_k_per_s if second < seconds else then_k_per_s
        verdict = feed.second()
        if verdict != "stay":
            return verdict
    return "stay"


def test_warm_zone_that_stops_falling_with_the_zones_off_is_heated():
    before_s = WARM_GOOD_S + 6
    assert falling(before_s, 0.8, 0.05) == "heat_while_off"
    # Heat that shows late and hardly: no rise yet, and no fall any more.
    assert falling(before_s + 3, 0.5, 0.12) == "heat_while_off"
    # Slowing down is what every stack does.
    assert falling(before_s, 0.8, 0.55) == "stay"
