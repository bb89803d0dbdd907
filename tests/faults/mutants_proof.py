"""Weakened rules of the proof between the press at the rig and the first heat."""

from functools import partial

from faults.mutants import Mutant, row, scaled

TESTS = (
    "board/test_proving.py",
    "board/test_proving_answers.py",
    "board/test_proving_rig.py",
    "board/test_levels.py",
    "board/test_answer.py",
    "board/test_controller.py",
)

_TIMES = scaled(
    "core/proving.py",
    """
    GOOD_S 0.5
    WARM_GOOD_S 0.4
    REST_S 0.1
    SHORT_REST_S 0.1
    SHORT_GOOD_S 0.25
    LIMIT_S 2
    CLIMB_K_PER_S 20
    CLIMB_S 0.1
    COLD_SPREAD_K 2 B9
    WELD_S 0.34 A7
    WELD_WARM_S 0.2 A7
    WELD_WATCH_S 0.34 A7
    OFF_S 0.2
    OFF_LONG_S 0.2 A1
    PULSE_S 2
    WATCH_S 0.34
    PULSE_DUTY 2
    FEEDBACK_S 4 A7
    ROGUE_WATCH_S 0.34
    WEAK_SLOWING_SHARE 4
    WEAK_SLOWING_SHARE 0.5
    SURE_SHARE 0.5
    SLOW_S 0.2
    MOST_RISE_K 4 D6
    FAST_WATCH_S 0.25
    STAYS_SHARE 4
    STILL_MS 4 B8
    LOST_S 0.25
    """,
    TESTS,
    walk="PULSE_DUTY",
)


_proving = partial(row, "core/proving.py", TESTS)


_STEPS = [
    _proving("        if lost and self._lost_ticks >= LOST_TICKS:", "        if False:", "held zones are good enough", "B1"),
    _proving("ready = self._good_s >= needed_s and spread_k <= COLD_SPREAD_K", "ready = self._good_s >= needed_s", "converters may disagree at the start", "B9"),
    _proving("(not climbs or self._total_s >= CLIMB_S)", "True", "a junction that still climbs is not waited for"),
    _proving('            return "ask"\n', '            return "stay"\n', "memory and files are not asked for", "C7"),
    _proving('                self._go("weld", False, 1.0)', '                self._go("open", False)', "no weld test", "A7"),
    _proving('                self._go("weld", False, 1.0)', '                self._go("weld", True, 1.0)', "weld test with the contactor closed", walk=True),
    _proving('                self._go("weld", False, 1.0)', '                self._go("weld", False, 0.0)', "weld test with the zones off", "A7"),
    _proving("rogue = self._levels.rogue_zone()", "rogue = -1", "the weld test refuses nothing", "A7"),
    _proving("rogue = self._levels.unasked_zone(over)", "rogue = -1", "zones that heat while off are good enough", "A1"),
    _proving('self._name_rogue(self.zone, "leap"', 'self._name_rogue(0, "leap"', "what stepped to and fro is zone 0"),
    _proving("unasked_zone(over)", "unasked_zone(False)", "a zone that stops cooling is good enough"),
    _proving("        if not good:\n            self._levels = Levels(len(cold_c))\n", "        if not good:\n            pass\n", "a proof begins with readings of before a gap"),
    _proving('        return "proved" if self._short else self._pulse(0, cold_c)', '        return "proved"', "no zone is probed", "A3", "B7", "D3"),
    _proving('        return "proved" if self._short else self._pulse(0, cold_c)', '        return "proved" if self._short else self._pulse(len(self.duties) - 1, cold_c)', "one zone is probed", "A3", "D3"),
    _proving('        if self._short or self._feedback:', '        if True:', "every proof begins like a short one", "A7"),
    _proving("contactor is not None and contactor != self.alive:", "False:", "the feedback is not looked at", "A7"),
    _proving("and levels.bump_k(pulsed, self._off_s) >= -SINKS_K", "", "a fall that ends by and by is an answer"),
    _proving("        if best_k < least_k:", "        if False:", "no answer is good enough", "A3", "B2", "D3"),
    _proving("        if verdict == \"leap\" and", "        if False and", "a box that leaps is a thermocouple", "B9"),
    _proving("        if fast:  # off", "        if False:  # off", "any answer is good enough", "D6"),
    _proving("best_k = max(self._best_k, own_k)", "best_k = own_k", "a draught takes an answer back"),
    _proving("rises_k.index(max(rises_k)) if hot else pulsed", "pulsed", "a leap beside is the pulsed zone's"),
    _proving("if zone < 0 and self._again and not self._levels.steps(self.zone):", "if False:", "a fall that pauses once is a leap"),
    _proving("            self._again, self._total_s, self._good_s, self._code = False, 0", "            self._total_s, self._good_s, self._code = 0", "a fall may pause for ever"),
    _proving("        if code:\n            self.zone = other", "        if False:\n            self.zone = other", "another zone may answer more", "B7", "C14"),
    _proving("        if share < least:", "        if False:", "all zones may be weak", "D7"),
    _proving("            self._off_s = min(self._off_s, self._step_s)\n            self.duties[pulsed] = 0.0\n", "            self._off_s = min(self._off_s, self._step_s)\n", "the pulse goes on", walk=True),
    _proving("duty if only in (-1, zone) else 0.0", "duty", "all zones are pulsed at once", "B7", walk=True),
    _proving('            return self._go("lost", False)', '            return "stay"', "a lost second does not matter", walk=True),
    _proving("        self.alive = alive\n", "        self.alive = True\n", "the contactor closes from the first step on", "A7", walk=True),
    _proving("            for zone in range(len(self.duties)):\n                self.duties[zone] = 0.0\n        if self._step_s < heat_s", "            pass\n        if self._step_s < heat_s", "zones stay on in the weld test"),
    _proving('            code = "frozen"\n', "            pass\n", "a frozen converter is not named", "B8"),
]  # fmt: skip

_ANSWER = [
    *scaled(
        "core/answer.py",
        """
        NO_SHARE 2
        REVERSED_SHARE 4 B5
        OTHER_SHARE 4 B7
        BESIDE_SHARE 4 B7
        BESIDE_LEAST_SHARE 4 B7
        RUNAWAY_SHARE 4
        FROZEN_MS 4 B8
        BUMP_SHARE 8
        FOLLOWS_K 0.1
        RUNAWAY_K_PER_S 4
        STAYS_SHARE 4
        """,
        TESTS,
    ),
    *(
        Mutant("core/answer.py", old, new, what, faults, TESTS)
        for old, new, what, faults in (
            ('        return "reversed"\n', "        pass\n", "reversed wires are not named", ("B5",)),
            (" and not levels.warm[zone]:", ":", "warm stacks fall like reversed wires", ()),
            ('            return "swapped"\n', "            pass\n", "exchanged plugs are not named", ("B7",)),
            ('        return "frozen"\n', "        pass\n", "a frozen converter is not named", ("B8",)),
            ('        return "heat_while_off"\n', "        pass\n", "heat that goes on is a missing answer", ()),
            ("            other_k = levels.answer_k(other, heat_s)\n", "            pass\n", "a fall hides the answer beside", ()),
            ("        if levels.steps(other):", "        if False:", "a step beside is heat", ()),
        )
    ),
]  # fmt: skip

_LEVELS = [
    *scaled(
        "core/levels.py",
        """
        BASE_S 0.25
        COLD_K 4
        SLOPE_S 2
        SLOWING_SHARE 3
        FALLS_K_PER_S 4
        STALL_SHARE 0.2
        AIR_DECAY_PER_S 8
        SLOWS_K_PER_S 6
        LEFT_SHARE 3
        ROGUE_RISE_K 2 A1 A7
        STEP_SHARE 0.5
        DROP_K 3
        CLIMBED_K_PER_S 0.5
        """,
        TESTS,
    ),
    Mutant("core/levels.py", "        if self._trends[zone] > CLIMBED_K_PER_S:", "        if False:", "what climbed before is heated", (), TESTS),
    Mutant("core/levels.py", "        if not self.slows(zone) or spent_s < STALL_S:", "        if True:", "what slows down by itself answers", (), TESTS),
    Mutant("core/levels.py", "def stalls", "return False", "heat may hold a reading where it is", (), TESTS),
    Mutant("core/levels.py", "            return risen_k\n", "            pass\n", "a junction in air is heated", (), TESTS),
    Mutant("core/levels.py", "min(trend, 0.0) if self.warm[zone] else 0.0", "0.0", "a warm stack does not cool", (), TESTS),
    Mutant("core/levels.py", "self.warm[zone] or level_c", "level_c", "a warm stack stands still as it nears the box", (), TESTS),
    Mutant("core/levels.py", "min(trend, 0.0) if self.warm[zone] else 0.0", "trend", "what climbs goes on to climb", ("A1", "A7"), TESTS),
]  # fmt: skip

MUTANTS = [*_TIMES, *_STEPS, *_ANSWER, *_LEVELS]
