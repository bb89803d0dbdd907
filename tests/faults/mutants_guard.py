"""Weakened rules of what is judged in every mode: readings, the rig, heat that is not answered or not asked for."""

from functools import partial

from faults.mutants import Mutant, row, scaled

GUARD = ("board/test_guard.py", "board/test_guard_leaps.py", "board/test_guard_rig.py", "board/test_trips.py")
JUDGE = (
    "board/test_judge.py",
    "board/test_jury.py",
    "board/test_judged_always.py",
    "board/test_doubt_figures.py",
)
UNASKED = ("board/test_unasked.py", "board/test_judge.py", "board/test_judged_always.py")
HOLDING = ("board/test_holding.py", "board/test_judge.py")

_GUARD_TIMES = scaled(
    "core/guard.py",
    """
    BAD_TRIP_MS 2 B1 B10
    STALE_OFF_MS 2
    STALE_TRIP_MS 2
    CEILING_TRIP_MS 2
    LOOP_TRIP_MS 2 C3
    LEAP_K 2
    LEAP_K_PER_S 2
    LEAP_OFF_MS 2
    LEAP_TRIP_MS 2 B3
    LEAP_SAME_K 2
    NOISY_OFF_MS 2
    NOISY_TRIP_MS 2 B13
    COLD_SPREAD_K 2
    COLD_SPREAD_TRIP_MS 2
    CONTACTOR_TRIP_MS 2
    FADE_FROM_K 0.5
    FADE_TO_K 0.1
    SPILL_FROM_K 3
    SPILL_TO_K 3
    """,
    GUARD,
    walk="STALE_OFF_MS LEAP_OFF_MS",
)


_guard = partial(row, "core/guard.py", GUARD)


_GUARD_RULES = [
    _guard("if dt_ms > LOOP_TRIP_MS:", "if False:", "a loop that stalled is no fault", "C3"),
    _guard("if not ceiling.whole():", "if False:", "a ceiling may change by itself", "C7"),
    _guard("            self._off()\n", "            pass\n", "a trip does not switch off first", walk=True),
    _guard(
        "        if self.trip is None:\n            self.trip = Trip",
        "        if True:\n            self.trip = Trip",
        "the last cause stands, not the first",
        walk=True,
    ),
    _guard("-1000.0 < item.temperature_c < 1000.0", "True", "what is no number is a reading", walk=True),
    _guard("and now_ms - item.at_ms <= STALE_OFF_MS", "", "a reading of long ago is one of now"),
    _guard("if self._leaps(zone, evidence, item, now_ms, dt_ms):", "if False:", "leaps are readings", "B3", "B13"),
    _guard("evidence.bad_ms - dt_ms // 2)", "evidence.bad_ms - dt_ms * 100)", "one good reading forgives all"),
    _guard("def _judge_ceiling", "return", "no ceiling", walk=True),
    _guard('evidence.code = "ceiling"', "pass", "a zone over its ceiling is not held off", walk=True),
    _guard("if not evidence.last_c <= ceiling_c:", "if evidence.last_c > ceiling_c + 5.0:", "5 K over the ceiling"),
    _guard("if evidence.over_ms >= CEILING_TRIP_MS:", "if False:", "over the ceiling for ever"),
    _guard("        evidence.bad_ms += dt_ms\n", "", "missing readings are no evidence", "B1", "B10", "B11"),
    _guard("max(evidence.bad_ms, age_ms) if", "evidence.bad_ms if", "silence counts from its first tick"),
    _guard("            if age_ms <= STALE_OFF_MS:", "            if True:", "silence is no fault", walk=True),
    _guard("        if spent_ms >= limit_ms:", "        if False:", "missing readings never trip", "B1", "B10"),
    _guard('            evidence.code = "leap"\n', "            pass\n", "a leap holds nothing off", walk=True),
    _guard("        if evidence.leap_ms >= LEAP_TRIP_MS:", "        if False:", "a leap never trips", "B3"),
    _guard("            evidence.seen = False\n", "", "the level after a leap is never the one to go by"),
    _guard("        if evidence.noisy_ms >= NOISY_TRIP_MS:", "        if False:", "noise never trips", "B13"),
    _guard('            evidence.code = "noisy"\n', "            pass\n", "noise holds nothing off", walk=True),
    _guard("return self._zones[zone].noisy_ms >= NOISY_OFF_MS", "return False", "noise is judged as readings"),
    _guard("        if self._spread_ms >= COLD_SPREAD_TRIP_MS:", "        if False:", "converters may disagree", "B9"),
    _guard("        if self._contactor_ms >= CONTACTOR_TRIP_MS:", "        if False:", "the contactor may stick", "A7"),
    _guard(
        "0 if contactor is None or contactor == alive else", "0 if contactor is not False or alive == contactor else",
        "a contactor that stays closed is none", "A7",
    ),
    _guard(
        "        if self.trip is not None:\n            return 0.0\n", "", "duty is allowed with a trip"
    ),
    _guard("        if evidence.code or not evidence.seen or", "        if not evidence.seen or", "duty for a held zone"),
    _guard("or now_ms - evidence.good_ms > STALE_OFF_MS:", "or False:", "duty on an old reading"),
    _guard("        if not duty > 0.0:", "        if duty <= 0.0:", "a duty that is no number is allowed"),
    _guard("self.judges[zone].cap if self.judges else 1.0", "1.0", "suspicion limits no power"),
    _guard(", self._headroom())", ")", "power does not fade out below a ceiling"),
    _guard("            if evidence.code:\n                return False\n", "            pass\n", "a trip is forgotten while its cause lasts", walk=True),
]  # fmt: skip

_JUDGE_TIMES = scaled(
    "core/judge.py",
    """
    FROZEN_MS 2 B8
    STILL_MS 2
    FROZEN_ABOVE_K 2
    LAG_S 2
    AIM_K 4
    """,
    JUDGE,
)


_judge = partial(row, "core/judge.py", JUDGE)


_JUDGE_RULES = [
    _judge("        if self._same_ms < FROZEN_MS:", "        if True:", "repeated bits are readings", "B8"),
    _judge("        if driven or temperature_c - cold_c > FROZEN_ABOVE_K:", "        if driven:", "frozen only with heat"),
    _judge("        if driven or temperature_c", "        if temperature_c", "frozen only while hot", "B8"),
    _judge("        if bits != self._last_bits:", "        if bits[0] != self._last_bits[0]:", "the box's own bits do not count"),
    _judge("            self._shut(\"frozen\" if still", "            repr(\"frozen\" if still", "heat nobody asked for is no fault"),
    _judge("still = self._still_ms >= STILL_MS", "still = False", "what never changes does not cool"),
    _judge("        if doubt.second(", "        if False and doubt.second(", "heat need not be answered", "A3", "D3", "B2"),
    _judge("None if moves else target_c", "target_c", "what a climbing target takes is what holds it"),
    _judge("        self.unasked.restart()\n", "", "rises before and after a change are one"),
    _judge("        self._doubt.restart()\n", "", "evidence outlives a deliberate change"),
    _judge("        self._doubt.meet_form()\n", "", "the form is a load like any other"),
    _judge("        self.cap = doubt.cap\n", "", "suspicion limits nothing"),
    _judge("        self.unasked.expect = expect\n", "", "the load before is expected on"),
    _judge("        self._share = 1.0\n", "        self._share = 0.0\n", "heat before a reset is forgotten"),
]  # fmt: skip

DOUBT = ("board/test_doubt.py", "board/test_doubt_figures.py", "board/test_judge.py")

_DOUBT_TIMES = scaled(
    "core/doubt.py",
    """
    SHARE 0.5 D7
    SLACK_K 3
    WINDOW 3
    FROM 3
    LEAST_K 3
    SUSPECT_MS 3 A3 D3
    SUSPECT_BARE_K 4 A3
    FALL_K 2 B4
    FALL_S 0.2
    HEATED_SHARE 10
    SINK_SHARE 1.5 B4
    SINK_LEAST_K 3
    TURN_SHARE 0.3
    TURN_LEAST_K_PER_S 0.3
    TREND_SHARE 0.3 B4
    TEST_CLEAR_SHARE 0.4 B4
    STEAM_FROM_C 0.5
    STEAM_TO_C 2
    STEAM_FALL_K 10
    STEAM_TEST_FALL_K 10
    STAND_K 3
    NEAR_K 4
    LOAD_K 2 A3
    FORM_K 2
    QUIET_MS 0.1
    CAP_MS 2
    CAP_SHARE 1.5
    TEST_MS 2
    TEST_MORE_SHARE 0.3
    TEST_SHARE 0.3
    TEST_LEAST_K 8
    TESTS 2 A3 D3
    DETACHED_FALL_K 4 B4
    TURN_CLEAR_SHARE 0.5
    """,
    DOUBT,
) + scaled(
    "core/weakly.py",
    """
    WEAK_ANSWERS 3 D7
    AGAIN_K 0.1
    """,
    DOUBT,
)


_doubt = partial(row, "core/doubt.py", DOUBT)


_DOUBT_RULES = [
    _doubt("if self._row.doubted(onset_c):", "if False:", "a doubt may come back for ever"),
    _doubt("            self._row.clear()\n            self.trust()", "            self.trust()", "an arrival begins no new row of doubts"),
    _doubt("        if self._failed and self._onset_c", "        if False and self._onset_c", "air that warms gives a fallen junction back its trust"),
    row("core/weakly.py", DOUBT, "self._count + 1 if weakly else 0", "self._count + 1", "good answers count as weak ones"),
    row("core/weakly.py", DOUBT, "self._count + 1 if weakly else 0", "0", "no answer is weak"),
    _doubt("def _collect", "return", "unanswered heat is no evidence", "A3", "D3"),
    _doubt("def _test", "return", "a test never ends", "A3", "D3"),
    _doubt("        if count > FALL_S and self", "        if False and self", "a fall while heated is no evidence", "B4"),
    _doubt(" or (mean_c >= target_c - NEAR_K and not climbs):", ":", "a zone at its target must rise"),
    _doubt(" and not climbs):", "):", "a reading that creeps along with a slow ramp is where it is wanted"),
    _doubt("            if above_k > SINK_LEAST_K and", "            if False and", "a form takes whatever falls", "B4"),
    _doubt("and self._turned(lagged):", "and False:", "less heat is no question"),
    _doubt("        if self.doubtful:\n            self._testing = False", "        if False:\n            self._testing = False", "a new target ends a doubt"),
    _doubt("            self._load_k -= missing_k\n", "", "cold loads take heat for ever", "A3"),
    _doubt("            self._water_k -= missing_k\n", "", "water boils for ever", "A3"),
    _doubt(" or got_k < -STEAM_FALL_K:", ":", "what falls while heated is steam"),
    _doubt("boils = stands and self", "boils = self", "what falls in a test is steam"),
    _doubt("        return mean_c >= target_c - STAND_K\n", "        return False\n", "a zone as good as there must rise"),
    _doubt("max(0, self._unanswered_ms - dt_ms)", "0", "one answered second forgives all"),
    _doubt("        if self._failed < TESTS:", "        if self._failed < 1000:", "no failed test is the last", "A3", "D3"),
    _doubt("min(1.0, usual) * CAP_SHARE", "1.0", "doubt takes no power away"),
    _doubt("        self._seconds = 0\n        self._row.clear()\n        if", "        self._row.clear()\n        if", "a change of the target is no change"),
    _doubt("        self.trust()\n        self._quiet_ms = QUIET_MS\n", "        self.trust()\n", "a passed test gives no rest"),
    _doubt("            self.code = \"detached\"\n", "            self.code = \"no_rise\"\n", "a junction pulled off is not told from a dead blanket"),
]  # fmt: skip

_UNASKED_TIMES = scaled(
    "core/unasked.py",
    """
    EXCESS_K 2 A1 A2
    EXCESS_MS 2 A1 A2
    EXCESS_WEIGHT_MOST 0.25
    EXCESS_SLOPE_K 2 A2
    MOST_SHARE 2 A2
    FAST_SHARE 2 D2
    FAST_LEAST_K 2 D2
    BURST_SHARE 2 D6
    BURST_LEAST_K 2 D6
    FAST_MS 10 D2
    AHEAD_S 0.1 A1
    AHEAD_MS 8 A1
    COOL_SHARE 0.5
    COOL_LEAST_K 2
    COOL_SLACK_K 2
    COOL_MS 2
    OFF_SHARE 4
    NEAR_LAG_K 4
    NEAR_LAG_K 0.25
    RISE_MOST 2
    TOO_HOT_K 2 A1
    TOO_HOT_MS 2
    TOO_HOT_STEP_K 2
    """,
    UNASKED,
)


_unasked = partial(row, "core/unasked.py", UNASKED)


_UNASKED_RULES = [
    _unasked("def _judge_excess", "return", "no rise is too much", "A1", "A2"),
    _unasked("def _judge_target", "return", "no target is passed by too much", "A1", "A2"),
    _unasked("def _judge_ahead", "return", "nobody looks ahead", "A1"),
    _unasked("def _judge_warmth", "return", "off need not cool", "A2"),
    _unasked("def _judge_speed", "return", "no rise is too fast", "D2"),
    _unasked("def _judge_burst", "return", "no burst is too fast", "D6"),
    _unasked("self._excess_k > EXCESS_K and rising:", "self._excess_k > EXCESS_K and rising and share > 0.0:", "excess only with heat", "A1"),
    _unasked("int(dt_ms * min(self._excess_k / EXCESS_K, EXCESS_WEIGHT_MOST))", "dt_ms", "a large excess counts like a small one"),
    _unasked("self._excess_ms >= EXCESS_MS * (1 if powered else 2)", "powered and self._excess_ms >= EXCESS_MS", "excess only with the contactor closed"),
    _unasked("max(0, self._excess_ms - dt_ms)", "0", "a pause forgives all excess"),
    _unasked("max(target_c + TOO_HOT_K + self.expect.window_k, self._least_c + EXCESS_K)", "self._least_c + 200.0", "any way above a target"),
    _unasked("max(0.0, near_k - LOSS_SHARE * lost_k) / dt_s", "near_k / dt_s", "neighbours pay for no loss"),
    _unasked("max(near_k_per_s, self._near_k_per_s)", "near_k_per_s", "a neighbour's heat ends at once"),
    _unasked("_judge_target(mean_c, target_c, lagged, late_k_per_s,", "_judge_target(mean_c, target_c, lagged, near_k_per_s,", "a target counts a neighbour's heat for a moment"),
    _unasked("        if not off or self._recent.count <= COOL_WINDOW:", "        if not off or self._count() <= COOL_WINDOW:", "every press forgives heat that stays on"),
]  # fmt: skip

_HOLDING = [
    *scaled(
        "core/holding.py",
        """
        STEADY_K 2
        USUAL_S 4
        HOLD_MOST 2
        HOLD_LEAST 0.5
        LEAST_HOLD_SHARE 4
        STEADY_S 2
        """,
        HOLDING,
    ),
    Mutant(
        "core/holding.py", "        self.odd = not HOLD_LEAST", "        self.odd = False and not HOLD_LEAST",
        "power to hold is never odd", (), HOLDING,
    ),
    Mutant(
        "core/holding.py", "not HOLD_LEAST * before <=", "not HOLD_LEAST * first <=",
        "wood that dries is doubted", (), HOLDING,
    ),
    Mutant(
        "core/holding.py", "        if not self.odd:\n            self._before_share", "        if True:\n            self._before_share",
        "an odd minute makes the next one odd", (), HOLDING,
    ),
]  # fmt: skip

_JURY = [
    Mutant("core/jury.py", old, new, what, faults, JUDGE)
    for old, new, what, faults in (
        ("NEAR_SHARE =", "4", "neighbours explain everything", ()),
        (" and self.guard.noise_ms(zone) < UNSURE_MS", "", "a noisy second has a mean", ("B13",)),
        ("UNSURE_MS =", "4", "a noisy second has a mean, up to a point", ("B13",)),
        ("STEP_MS =", "4", "noise in a proof is a leap", ()),
        ("        if zone < 0 or (code", "        if True or (code", "noise proves heat", ("B13",)),
        ("            judges[zone].powered = powered\n", "            judges[zone].powered = False\n", "never powered", ("A2",)),
        ("        if code:\n", "        if False:\n", "judges reach no trip", ("A1", "A3", "B8")),
        (
            "            self.judges[zone].load(self.expects[zone])\n", "            self.judges[zone].__init__(self.expects[zone])\n",
            "laying out forgets all evidence", (),
        ),
        ("self.expects[zone].learn(ratios[zone], colds_c[zone])", "pass", "nothing is learned from the proof", ()),
        ("            self.judges[zone].meet_form()\n", "            pass\n", "the form is no cold load", ()),
    )
]  # fmt: skip

_EXPECT = [
    *scaled(
        "core/expect.py",
        """
        FACTOR_LEAST 2
        FACTOR_MOST 4
        LOSS_W_M2_K 4
        BOIL_OFF_J_KG 4
        PROBED_WOOD_SHARE 4
        WEAK_SHARE 0.5 D7
        WEAK_BARE_SHARE 0.5
        ALL_WEAK_SHARE 0.5 D7
        ALL_WEAK_BARE_SHARE 0.5
        FAST_SHARE 2 D6
        LOADED_SHARE 0.2
        """,
        ("board/test_expect.py", "board/test_judge.py", "board/test_proving_answers.py"),
    ),
    *scaled(
        "core/adrift.py",
        """
        FALL_SHARE 1.4 B4
        FALL_S 0.3
        FALL_LEAST_K 3
        FALL_MS 0.1
        NEAR_SHARE 0.1
        OWN_SHARE 10
        """,
        ("board/test_adrift.py",),
    ),
    Mutant(
        "core/adrift.py", "if not expect.loaded or not near", "if not near", "a bare blanket may not cool fast", (),
        ("board/test_adrift.py",),
    ),
    Mutant(
        "core/judge.py", "if adrift.second(", "if False and adrift.second(", "an unheated zone is not watched", ("B4",),
        ("board/test_adrift.py",),
    ),
    Mutant(
        "core/expect.py", "max(1.0, self.factor)", "self.factor", "a slow answer allows less heat ever after", (),
        ("board/test_expect.py", "board/test_unasked.py"),
    ),
]  # fmt: skip

MUTANTS = [
    *_GUARD_TIMES,
    *_GUARD_RULES,
    *_JUDGE_TIMES,
    *_JUDGE_RULES,
    *_DOUBT_TIMES,
    *_DOUBT_RULES,
    *_UNASKED_TIMES,
    *_UNASKED_RULES,
    *_HOLDING,
    *_JURY,
    *_EXPECT,
]
