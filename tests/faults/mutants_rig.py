"""Weakened rules of modes, outputs, loop, panel, relays, memory, presence and readings."""

from faults.mutants import Mutant, row, scaled

CONTROL = (
    "board/test_controller.py",
    "board/test_trips.py",
    "board/test_layers.py",
    "board/test_drive.py",
    "board/test_goals_cpython.py",
)
ROUNDS = ("board/test_rounds.py", "board/test_controller.py")
MEMORY = ("board/test_twice.py", "board/test_guard.py", "board/test_trips.py")
PRESENCE = ("board/test_attend.py", "board/test_course.py")
WOOD = ("board/test_ends.py", "board/test_woods.py", "board/test_midwood.py")
RAMP = ("board/test_wood_ramp.py", "board/test_twice.py")
WINDOWS = ("board/test_window.py", "board/test_drive.py", "board/test_layers.py")
LOOP = (
    "faults/test_failing_flash.py",
    "board/test_start_button.py",
    "board/test_loop.py",
    "board/test_resets.py",
    "loop/test_core_loop.py",
)
FLASH = ("faults/test_campaign_flash.py",)
NUDGE = ("board/test_nudging.py",)
ACTS = ("board/test_acts.py",)
ALONE = ("board/test_alone.py", "board/test_front.py")
FACES = ("board/test_faces.py",)
FRONT = ("board/test_front.py",)
LISTED = ("board/test_knob_list.py",)
BEEPS = ("board/test_beeps.py",)
KNOB = ("board/test_knob.py",)
SENSING = ("board/test_sensing.py", "board/test_senses.py")
CONVERTERS = ("board/test_max31856.py", "board/test_max6675.py", "board/test_converters.py")
LAW = ("board/test_zone.py", "board/test_bump.py", "board/test_rig.py", "board/test_relay_life.py")


def _control(old: str, new: str, what: str, *faults: str, walk: bool = True) -> Mutant:
    return row("core/controller.py", CONTROL, old, new, what, *faults, walk=walk)


_CONTROLLER = [
    *scaled("core/controller.py", "RESETS_MOST 2 C6", ("board/test_resets.py", *CONTROL)),
    _control("heat = self.guard.trip is None and self.mode in HEAT_MODES", "heat = self.mode in HEAT_MODES", "outputs do not look at the trip"),
    _control("heat = self.guard.trip is None and self.mode in HEAT_MODES", "heat = self.guard.trip is None", "outputs do not look at the mode"),
    _control('heat = heat and (self.mode != "running" or self.course is None or self.course.heats())', "pass", "a window planned before the cool stage is driven on"),
    _control("        if self.guard.trip is not None:\n            return False\n        if self.mode", "        if self.mode", "the alive signal goes on in a trip"),
    _control("return self._proving is not None and self._proving.alive", "return True", "alive from the press on", "A7"),
    _control('return self.mode == "running" and self.course is not None and self.course.heats()', 'return self.mode == "running"', "alive in the cool stage"),
    _control('return self.mode == "running" and self.course is not None and self.course.heats()', "return True", "alive at rest"),
    _control("        dt_ms = guard.tick(now_ms)\n", "        dt_ms = 100\n", "a late loop is not noticed", "C3"),
    _control("        guard.judge_rig(self._alive, contactor, now_ms, dt_ms)\n", "", "the rig is not judged", "A7", "B9"),
    _control("guard.heating = self.mode in HEAT_MODES", "guard.heating = False", "heat is not known to the guard", "B9", walk=False),
    _control("            self._press(button)\n        self._follow_trip()\n", "            self._press(button)\n", "a trip waits to the end of the tick", walk=False),
    _control("        self._pass_on(self.jury.events)\n        self._follow_trip()\n", "        self._pass_on(self.jury.events)\n", "a trip waits for the next tick"),
    _control("        self.rounds.tick(self.mode, self.course, self._targets_c(), self._alive, now_ms)\n", "", "no second is judged", "A1", "A3", "C7", walk=False),
    _control("        if self.mode != before:\n            # A second", "        if False:\n            # A second", "the second that ends with a run is not told", walk=False),
    row("core/controller.py", ROUNDS, "        self.rounds.tell()\n        self.mode = mode\n", "        self.mode = mode\n", "what ends leaves its last second behind"),
    row("core/rounds.py", ROUNDS, "            self._jury.judge(at, now_ms)\n", "            self._jury.judge(0, now_ms)\n", "only the first zone is judged", "A1", "A3"),
    row("core/rounds.py", ROUNDS, "        self._finish(now_ms)\n        self._span_ms", "        self._span_ms", "ticks that are missed leave zones unjudged"),
    _control("            self.drive.rest()\n", "", "plans stand when the mode changes", walk=False),
    _control("                self.course.attend.touch()\n        return True", "                pass\n        return True", "a question outlives its run"),
    _control('            if button != "stop":\n                return\n', "", "an answer ends the hold as well", walk=False),
    _control("        if self.course is not None and self.course.attend.touch():", "        if False:", "a press answers nothing", walk=False),
    _control("                if self.guard.clear():", "                self.guard.trip = None\n                if True:", "a trip is acknowledged while its cause lasts"),
    _control('            elif self.mode in ("ready", "paused"):', '            elif self.mode in ("ready", "paused", "running"):', "a press in a run proves again"),
    _control("                self._move(\"press\")\n", "                self.mode = \"running\"\n", "a press starts without a proof"),
    _control('        if self.mode not in ("idle", "ready"):', "        if False:", "a run is laid out at any time", walk=False),
    _control("        if resets >= RESETS_MOST:", "        if False:", "resets lock nothing", "C6"),
    _control("(self.preflight() if course.memory.whole() else \"memory\") or \"stay\"", "self.preflight() or \"stay\"", "the proof does not look at memory", walk=False),
    _control("(self.preflight() if course.memory.whole() else \"memory\") or \"stay\"", "\"stay\" if course.memory.whole() else \"memory\"", "the proof does not look at files", walk=False),
    row("core/controller.py", CONTROL, "            self.course.whole(guard, now_ms, False)\n", "            pass\n", "memory is not compared", "C7"),
    row("core/rounds.py", CONTROL, "self._shares = drive.shares if powered else", "self._shares = drive.shares if True else", "heat is counted with the contactor open", "A7"),
    row("core/rounds.py", CONTROL, "self._jury.begin(targets_c, self._shares, powered,", "self._jury.begin(targets_c, self._shares, True,", "always powered"),
    _control("        self._alive = self.alive_due()\n", "", "the guard never knows of the alive signal", "A7"),
    _control("            self.jury.learn(proving.ratios, self.senses.cold_c)\n", "", "the proof teaches nothing", walk=False),
    _control('        elif verdict != "stay":\n            self._move("refused")', '        elif verdict != "stay":\n            self._move("proved")', "a refusal is a proof"),
    _control("        self.jury.load(profile)\n", "", "the declared load is not expected", walk=False),
]  # fmt: skip

_MODES = [
    row("core/modes.py", ("board/test_modes.py",), old, new, what, walk=True)
    for old, new, what in (
        ('    ("ready", "press"): "proving",', '    ("ready", "press"): "running",', "a press heats"),
        ('    ("paused", "press"): "proving",', '    ("paused", "press"): "running",', "a pause ends without a proof"),
        ('    ("running", "trip"): "tripped",\n', "", "running does not trip"),
        ('    ("idle", "trip"): "tripped",\n', "", "idle does not trip"),
        ('    ("tripped", "trip"): "tripped",\n', '    ("tripped", "stop"): "idle",\n', "stop leaves a trip"),
        ('    ("tripped", "acknowledge"): "idle",', '    ("tripped", "acknowledge"): "ready",', "a trip ends ready"),
        ('    ("running", "stop"): "idle",\n', "", "running is not stopped"),
        ('    ("proving", "stop"): "idle",\n', "", "a proof is not stopped"),
        ('    ("proving", "refused"): "idle",', '    ("proving", "refused"): "ready",', "a refusal ends ready"),
    )
]  # fmt: skip

_COURSE = [
    *scaled("core/attend.py", "PROMPT_MS 2 D1\nGRACE_MS 2 D1\nSESSION_MS 2 D1", PRESENCE),
    row("core/attend.py", PRESENCE, '            return "session_over"', '            return ""', "no longest session", "D1"),
    row("core/attend.py", PRESENCE, '            return "unattended"', '            return ""', "nobody need be there", "D1"),
    row("core/attend.py", PRESENCE, "        self._alone_ms = 0\n        asked", "        asked", "a press does not count as presence"),
    row("core/attend.py", PRESENCE, "        asked, self.asked = self.asked, False\n", "        asked = self.asked\n", "a question stands for ever"),
    row("core/attend.py", PRESENCE, "        self._heat_ms += dt_ms\n", "        self._heat_ms = self._alone_ms\n", "a press begins a new session", "D1"),
    row("core/course.py", PRESENCE, "                guard.shut(said, -1, limit_s, limit_s, \"s\", now_ms)", "                pass", "presence ends no heat", "D1"),
    row("core/course.py", PRESENCE, "        if runner.late_zone >= 0:", "        if False:", "no ramp is late"),
    row("core/course.py", PRESENCE, 'self._switches and stage is not None and stage.kind != "cool"', "self._switches and stage is not None", "the cool stage heats", walk=True),
    row("core/course.py", PRESENCE, "                self._met.extend(stage.zones)", "                pass", "nobody knows that the strip met the form"),
]  # fmt: skip

WATCHING = ("board/test_watching.py", "board/test_rig.py")
_WATCHING = [
    row("core/course.py", WATCHING, "return self._switches and stage is not None", "return stage is not None", "a rig that only watches gives the alive signal"),
    row("core/drive.py", WATCHING, "targets_c is None or self.rig.watches", "targets_c is None", "a rig that only watches wants duty"),
    row("core/jury.py", WATCHING, "        if self.rig.watches:", "        if False:", "heat from elsewhere is judged"),
    row("core/jury.py", WATCHING, "            if judge.frozen():", "            if False:", "a watched converter may freeze"),
    row("core/controller.py", WATCHING, "        if self.rig.watches:", "        if False:", "a rig that only watches is pulsed"),
    row("core/rig.py", WATCHING, "        if zones and zone.watched != zones[0].watched:", "        if False:", "a rig may be half of one kind"),
    row("core/watching.py", WATCHING, "if self._good_ms >= GOOD_S * 1000 and spread_k", "if spread_k", "a run begins without a good reading"),
    row("core/watching.py", WATCHING, " and spread_k <= COLD_SPREAD_K:", ":", "converters that disagree are watched by"),
]  # fmt: skip

_MEMORY = [
    row("core/twice.py", MEMORY, old, new, what, *faults)
    for old, new, what, *faults in (
        ("        return -5.0e6 < value < 5.0e6 and _mark(value) == ~self._complement", "        return True", "a number may change", "C7"),
        ("_mark(value) == ~self._complement", "True", "only what is no number is noticed", "C7"),
        ("        return self.seen == self.limit and self.limit == ~self._complement", "        return True", "limits may change", "C7"),
        (" and self.limit == ~self._complement", "", "the kept sum may change with the limits"),
        ("_mark(rig.branch_limit_a) + ", "", "the branch limit is not kept", "C7"),
        ("(zone.power_w, zone.current_a, zone.ceiling_c, zone.offset_k):", "(zone.power_w, zone.current_a, zone.offset_k):", "ceilings are not kept"),
        ("zone.ceiling_c, zone.offset_k):", "zone.ceiling_c):", "offsets are not kept"),
        ("(stage.target_c, stage.band_k, stage.below_c, stage.rate_k_per_min,", "(stage.band_k, stage.below_c, stage.rate_k_per_min,", "targets are not kept", "C7"),
        ("stage.rate_k_per_min, stage.mid_wood_c)", "stage.rate_k_per_min)", "what ends a hold by the wood is not kept"),
        ("for part in (stage.wood_face_c, stage.most_c):", "for part in (stage.wood_face_c,):", "the highest target a ramp may ask is not kept"),
        ("for part in (stage.wood_face_c, stage.most_c):", "for part in (stage.most_c,):", "the limit of the wood's face is not kept"),
        ("    for time_ms in (stage.hold_ms, stage.longest_ms, stage.mid_wood_ms):", "    for time_ms in (stage.hold_ms, stage.mid_wood_ms):", "longest times are not kept"),
        ("        total = (total * 31 + _mark(zone.gains[key] * 100.0)) & _MODULO", "        pass", "gains are not kept", "C7"),
        ("        total = (total * 31 + zone_at) & _MODULO", "        pass", "zones of a stage are not kept"),
    )
]  # fmt: skip

_WOOD = [
    row("core/ends.py", WOOD, "if mid_c is None or not mid_c >= wanted_c:", "if mid_c is not None and not mid_c >= wanted_c:", "wood without an estimate ends a hold"),
    row("core/ends.py", WOOD, "                self._above_ms = 0\n                return False", "                return False", "time above is counted over its breaks"),
    row("core/ends.py", WOOD, "stage.target_c - MID_WOOD_ROOM_K", "stage.target_c", "a hold waits for wood as hot as its thermocouple"),
    row("core/stages.py", WOOD, "        if self.cue():\n            return False\n        if hot:", "        if hot:", "the wood goes on while a cue waits"),
    row("core/stages.py", WOOD, "        self.wood.begin()\n", "", "time above counts in the next hold"),
    row("core/rounds.py", WOOD, ' or mode == "ready" else course', " else course", "wood that is not there yet is dried"),
    row("core/course.py", WOOD, "                self.woods.meet_form(stage.zones)\n", "", "the estimate never meets the form"),
    row("core/woods.py", WOOD, "None if senses.held[zone] else means_c[zone]", "means_c[zone]", "a held zone keeps its estimate"),
    row("core/midwood.py", WOOD, "if not self._started or self._blind_s:", "if not self._started:", "an estimate stands without readings"),
    row("core/midwood.py", WOOD, "            self._slope_k_per_s = 0.0\n            self._blind_s", "            self._blind_s", "a slope outlives a gap"),
    row("core/midwood.py", WOOD, "            self._last_c = None\n            self._slope", "            self._slope", "a gap is taken for a slope"),
    row("core/midwood.py", WOOD, "                    water[cell] -= lost\n", "", "water never ends"),
    row("core/midwood.py", WOOD, "_steps(thickness_mm, cells, self._gravity) > STEPS_MOST", "False", "thin wood takes more steps than a board has time for"),
]  # fmt: skip

_RAMP = [
    *scaled("core/wood_ramp.py", "RISE_K 2\nREACHED_MS 2\nCLIMB_K 2", RAMP),
    row("core/wood_ramp.py", RAMP, "min(stage.target_c + RISE_K, highest_c)", "stage.target_c + RISE_K", "a ramp for the wood passes the ceilings"),
    row("core/wood_ramp.py", RAMP, "            if beside_c is None:\n                wanted_c = target_c\n", "            if beside_c is None:\n                wanted_c = most_c\n", "without an estimate it heats the most"),
    row("core/wood_ramp.py", RAMP, "wanted_c = target_c if last_c is None else last_c", "wanted_c = most_c", "a tick without a reading moves a target"),
    row("core/wood_ramp.py", RAMP, "max(target_c, min(beside_c, most_c))", "max(target_c, beside_c)", "an estimate asks for any heat"),
    row("core/wood_ramp.py", RAMP, "max(target_c, min(beside_c, most_c))", "min(beside_c, most_c)", "an estimate takes a target away"),
    row("core/wood_ramp.py", RAMP, "beside_c - measured_c > LEAD_K", "False", "the target climbs with the flow"),
    row("core/wood_ramp.py", RAMP, "beside_c - measured_c > LEAD_K", "True", "the face's limit limits nothing"),
    row("core/wood_ramp.py", RAMP, "wanted_c = min(wanted_c, last_c + CLIMB_K)", "pass", "a target jumps up with its estimate"),
    row("core/wood_ramp.py", RAMP, "            self._last_c[zone] = None\n", "            pass\n", "a ramp begins at the last one's target"),
    row("core/wood_ramp.py", RAMP, "        self._since_ms = SECOND_MS\n", "", "a ramp waits a second for its target"),
    row("core/wood_ramp.py", RAMP, "        self._since_ms = 0\n        for zone in stage.zones:", "        for zone in stage.zones:", "the estimate is asked ten times a second"),
    row("core/wood_ramp.py", RAMP, "    if face_c < target_c - 0.01:", "    if False:", "a face's limit that the target itself breaks"),
    row("core/wood_ramp.py", RAMP, "    elif face_c > highest_c + 0.01:", "    elif False:", "a face hotter than any zone may be"),
    row("core/wood_ramp.py", RAMP, '    if not table.has("longest_min"):', "    if False:", "a ramp waits for the wood for twenty minutes unasked"),
    row("core/wood_ramp.py", RAMP, '    if table.has("rate_per_min"):', "    if False:", "a ramp with two paces"),
    row("core/profile_values.py", RAMP, "        targets_c += [stage.most_c for stage in stages if stage.most_c is not None]\n", "", "the guard does not know what a ramp may ask"),
    row("core/profile.py", RAMP, "return min(ceilings_c) - TARGET_MARGIN_K", "return max(ceilings_c) - TARGET_MARGIN_K", "the highest ceiling counts for all zones"),
    row("core/stages.py", RAMP, "if stage.wood_face_c is None or not all(self._arrived[zone] for zone in stage.zones):", "if stage.wood_face_c is None:", "a thermocouple that never came is taken for late wood"),
    row("core/stages.py", RAMP, "if stage.wood_face_c is None or not all(self._arrived[zone] for zone in stage.zones):", "if True:", "late wood trips the rig"),
    row("core/stages.py", RAMP, "            return self._by_wood(stage, dt_ms)\n", "            return arrived\n", "a ramp for the wood ends by the thermocouple"),
    row("core/stages.py", RAMP, "        self.aim.begin()\n", "", "a ramp goes on from the last one's estimate"),
    row("core/course.py", RAMP, "        self.runner.aim.beside_c = self.woods.beside_c\n", "", "nobody tells a ramp of the estimate"),
]  # fmt: skip

_DRIVE = [
    row("core/drive.py", WINDOWS, 'on = heat and guard.held(zone) == "" and not', "on = heat and not", "a held zone heats to the end of its window", walk=True),
    row("core/drive.py", WINDOWS, "on = heat and guard.held", "on = guard.held", "heat without permission", walk=True),
    row("core/drive.py", WINDOWS, "if starts and not windows.room(zone, outputs.on, outputs.off_ms, now_ms):", "if False:", "late edges may overload the branch"),
    row("core/drive.py", WINDOWS, "0.0 if idle else guard.allow(zone, duty, now_ms)", "0.0 if idle else duty", "the law's duty passes the guard"),
    row("core/drive.py", WINDOWS, "allowed = 0.0 if idle else guard", "allowed = guard", "duty without any target"),
    row("core/window.py", WINDOWS, "        return total_a <= self._limit_a", "        return True", "there is always room"),
    row("core/window.py", WINDOWS, "            if total_a > self._limit_a:\n                return False\n", "", "every plan fits the branch"),
    row("core/window.py", WINDOWS, "now_ms - off_ms[other] < self._gap_ms", "False", "no pause for a zone that has just gone off"),
    row("core/window.py", WINDOWS, "busy = edge < self._tail_ms[other]", "busy = False", "a window's end leaves no pause in the next"),
    row("core/window.py", WINDOWS, "start_ms + self.on_ms[other] + self._gap_ms\n", "start_ms + self.on_ms[other]\n", "no half-cycle between two zones"),
    row("core/window.py", WINDOWS, "        if not duty > 0.0:", "        if duty < 0.0:", "a duty that is no number is on"),
]  # fmt: skip

_LOOP = [
    row("app.py", LOOP, "        if controller.alive_due():\n            board.alive.edge()\n", "        board.alive.edge()\n", "an alive edge for every tick"),
    row("app.py", LOOP, "            board.alive.edge()\n", "            board.alive.edge()\n            board.alive.edge()\n", "two edges a tick"),
    row("app.py", LOOP, "            board.watchdog.start()\n", "            pass\n", "no watchdog"),
    row("app.py", LOOP, "        board.watchdog.feed()\n\n", "\n", "the watchdog is not fed by a good tick"),
    row("app.py", LOOP, "        late_ms = now_ms - self._tick_ms\n", "        late_ms = now_ms - self._tick_ms\n        board.watchdog.feed()\n", "the watchdog is fed before the tick"),
    row("app.py", LOOP, "TICK_MS * (1 + late_ms // TICK_MS)", "TICK_MS", "missed ticks are caught up in a burst"),
    row("app.py", LOOP, "if quiet else Missing", "if True else Missing", "two converters may answer at once", "B12"),
    row("app.py", LOOP, "Controller(rig, now_ms, self._relays_off)", "Controller(rig, now_ms)", "a trip switches nothing off by itself"),
    row("app.py", LOOP, "        self.controller.boot(interrupted, resets)\n", "", "a reset is not told"),
    row("app.py", LOOP, "        board = self.board\n        for relay in board.relays:\n            relay.off()\n", "        board = self.board\n", "relays stay on while the flash is written"),
    row("app.py", LOOP, "        self.controller.drive.all_off(board.clock.now_ms())\n", "", "time off while writing counts as heat"),
    row("app.py", LOOP, "        except (OSError, CoreError, MemoryError):", "        except (CoreError, MemoryError):", "a flash that fails ends the firmware"),
    row("app.py", LOOP, "        except (OSError, CoreError, MemoryError):", "        except (OSError, CoreError):", "a file that finds no memory ends the firmware"),
    row("app.py", LOOP, "    finally:\n        for relay in board.relays:\n            relay.off()\n", "    finally:\n        pass\n", "an exception leaves relays as they are"),
    row("app.py", LOOP, ' and text != "resets")', ")", "a lock after resets is lifted by the next one"),
    row("app.py", LOOP, "    store.mark_run(0)\n", "", "every reset cuts a run off"),
    row("app.py", LOOP, "                self._write(lambda store: store.mark_run(controller.run))\n", "", "a run leaves no mark"),
    row("app.py", FLASH, '            self.controller.note("log_lost")', '            self.controller.note("log_lost")\n            self.controller.stop()', "a log that cannot be written ends the run"),
    row("app.py", FLASH, '            self.controller.note("log_lost")', "            pass", "a lost log is not told"),
    row("core/service.py", FLASH, "            whole = self.store.files_whole(", "            whole = True or (", "damaged files are proved"),
    row("drivers/checked.py", ("faults/test_damaged_rig.py",), "binascii.hexlify(found.digest()).decode().startswith(key)", "True", "a damaged profile is proved"),
    row("drivers/checked.py", ("faults/test_damaged_rig.py",), "crc[0] = binascii.crc32(piece, crc[0])", "crc[0] = binascii.crc32(piece)", "only the end of the rig is checked"),
    row("drivers/checked.py", ("faults/test_damaged_rig.py",), "file.read(len(head)) != head", "not file.read(len(head))", "another rig is proved"),
    row("core/service.py", FLASH, "        if self.store.sha256(body)[:12] != wanted:", "        if False:", "a damaged profile is laid out"),
    row("drivers/store.py", ("faults/test_damaged_rig.py",), "        if cut < 0 or body[cut + len(SUM) : -2] != wire.checksum(body[:cut]):", "        if cut < 0:", "a damaged rig is heated by"),
    row("drivers/panel.py", LOOP, "            self._states[name] = 2\n", "            self._states[name] = 0\n", "a button held since power-on counts"),
    row("drivers/panel.py", LOOP, "            if before == 1 and state == 2:", "            if before == 0 and state == 1:", "one tick down is a press"),
    row("drivers/panel.py", LOOP, "            if before == 1 and state == 2:", "            if state == 2:", "a button that sticks counts again and again"),
    row("drivers/panel.py", LOOP, 'UP, DOWN = b"\\x00\\x00\\x03\\x00"', 'UP, DOWN = b"\\x00\\x00\\x00\\x00"', "one tick up is a release"),
    row("drivers/panel.py", LOOP, 'b"\\x01\\x02\\x02\\x02"', 'b"\\x01\\x02\\x02\\x01"', "a glitch in a release is a new press"),
]  # fmt: skip

_PANEL = [
    row(file, tests, old, new, what)
    for file, tests, old, new, what in (
        ("core/nudging.py", NUDGE, "now_k = min(most_k, max(least_k, int(before_k) + steps_k))", "now_k = int(before_k) + steps_k", "a target is moved without bounds"),
        ("core/nudging.py", NUDGE, " - TARGET_MARGIN_K\n", "\n", "a moved target takes the ceiling's room"),
        ("core/nudging.py", NUDGE, 'KINDS = ("hold", "set")', 'KINDS = ("ramp", "hold", "set")', "a ramp's target is moved"),
        ("core/nudging.py", NUDGE, "    if course.attend.touch():", "    if course.attend.asked:", "a turn of the knob is no sign of anybody"),
        ("core/nudging.py", NUDGE, 'controller.mode != "running"', 'controller.mode == "idle"', "a target is moved outside a run"),
        ("core/nudging.py", NUDGE, "return following[0].zones == before.zones and following[0].target_c == before.target_c", "return True", "a moved target goes on into any hold"),
        ("core/course.py", NUDGE, " and self.runner.by_hand.whole()", "", "a moved target is not compared"),
        ("core/alone.py", ALONE, "now_ms - self._laid_ms < APART_MS", "False", "a press that bounces lays out and arms"),
        ("core/alone.py", ALONE, ' and "stop" not in pressed', "", "start with stop lays out"),
        ("core/alone.py", ALONE, " and (self.shows or self.sounds)", "", "a run is laid out that nobody is told of"),
        ("core/alone.py", ALONE, "        if step and self.shows and self.keys:", "        if step and self.keys:", "profiles change unseen"),
        ("core/alone.py", ALONE, "        if not self.shows and self.at:", "        if False:", "a profile chosen unseen is laid out"),
        ("core/faces.py", FACES, "if controller.mode not in HEAT_MODES or controller.guard.trip is not None:", "if controller.mode not in HEAT_MODES:", "heat is shown in the tick of a trip"),
        ("core/faces.py", FACES, " if -100 < shown < 1000 else NO_READING", "", "what cannot be a reading is shown as one"),
        ("drivers/front.py", FRONT, "controller.mode in REST_MODES and now_ms", "now_ms", "a display that failed is tried while it heats"),
        ("drivers/front.py", FRONT, "            if not self._told:\n", "            if True:\n", "a display that is missing is told again and again"),
        ("drivers/knob.py", KNOB, "        if self._levels == REST:", "        if False:", "lost edges shift every later detent"),
    )
]  # fmt: skip

_ACTS = [
    row(file, ACTS + NUDGE, old, new, what, walk=walk)
    for file, old, new, what, walk in (
        ("core/by_hand.py", "(nudge is None or nudge.whole()) and ", "", "a target moved from a computer is not compared", False),
        ("core/by_hand.py", " and (extension is None or extension.whole())", "", "an extension is not compared", False),
        ("core/by_hand.py", "            self.extension.begin()\n", "            pass\n", "the next stage is extended as well", False),
        ("core/acts.py", "return self.stage.whole() and self.run.whole()", "return self.stage.whole()", "what a run was given is not compared", False),
        ("core/acts.py", "return self.stage.whole() and self.run.whole()", "return self.run.whole()", "what a stage was given is not compared", False),
        ("core/acts.py", "(stage.longest_ms or 0) // MINUTE_MS - self.stage.value", "MOST_MIN", "a stage is extended without end", False),
        ("core/acts.py", ", MOST_MIN - self.run.value)", ", MOST_MIN)", "a run is extended without end", False),
        ("core/acts.py", "    if minutes > left_min:", "    if False:", "an extension has no bound", False),
        ("core/acts.py", "Extension(before.stage.value + minutes, run_min)", "Extension(minutes, run_min)", "a stage forgets what it was given", False),
        ("core/acts.py", "    run_min = before.run.value + minutes\n", "    run_min = minutes\n", "a run forgets what it was given", False),
        ("core/profile.py", '    if not 1 <= wanted <= len(stages):', "    if wanted < 1:", "a run begins behind its end", False),
        ("core/profile.py", '    if stages[wanted - 1].kind == "cool":', "    if False:", "a run begins with cooling", False),
        ("core/acts.py", 'or stage is None or controller.mode != "running":', 'or stage is None or controller.mode == "idle":', "a run that is not on is acted on", False),
        ("core/acts.py", "    if stage.kind not in KINDS:", "    if False:", "a ramp is moved and extended", False),
        ("core/acts.py", "    if due_ms - now_ms > AHEAD_MS:", "    if False:", "a computer fills the log", False),
        ("core/acts.py", "        raise RefusedError(\"bound\", text % (moved_k, least_k, most_k))", "        pass", "a nudge that moves nothing is taken", False),
        ("core/acts.py", '    if stage.kind in ("set", "cool"):', "    if False:", "backing off from the set goes on to cooling", False),
        ("core/acts.py", "runner.after_longest((stage.target_c or 0.0) + runner.by_hand.moved_k())", "runner.after_longest()", "backing off heats", True),
        ("core/acts.py", "(stage.target_c or 0.0) + runner.by_hand.moved_k())", "stage.target_c or 0.0)", "backing off does not know of a target moved down", False),
        ("core/acts.py", "if course is None or controller.mode not in MARKED:", "if course is None:", "a mark is made at rest", False),
        ("core/acts.py", "    if what not in MARKS:", "    if False:", "any word is a mark", False),
        ("core/acts.py", "MARKS.index(what) + 1", "MARKS.index(what)", "marks are counted from 0", False),
        ("core/stages.py", "return self._warn(longest_ms + self.by_hand.more_ms())", "return self._warn(longest_ms)", "an extended hold ends as if it were not", False),
        ("core/stages.py", "self.held_ms >= hold_ms + self.by_hand.more_ms()", "self.held_ms >= hold_ms", "an extended clock ends as if it were not", False),
        ("core/stages.py", "        if self._warned_ms != longest_ms and", "        if not self._warned_ms and", "an extended hold warns no more", False),
        ("core/course.py", "            self.runner.begin(self.first)\n", "            self.runner.begin(0)\n", "a later first stage is forgotten", False),
        ("core/service.py", "self.controller.lay_out(profile, run, first)", "self.controller.lay_out(profile, run)", "a later first stage is not handed on", False),
        ("core/service.py", "controller.course.first + 1 if", "1 if", "the log does not say where a run began", False),
    )
]  # fmt: skip

_AT_THE_KNOB = [
    row(file, tests, old, new, what)
    for file, tests, old, new, what in (
        ("core/knob_list.py", LISTED, "changed = pressed or not shows", "changed = not shows", "the list stays open over a press"),
        ("core/knob_list.py", LISTED, "pressed or not shows or self._changed()", "pressed or self._changed()", "a list goes on that nobody sees"),
        ("core/knob_list.py", LISTED, "or not shows or self._changed()", "or not shows", "the list outlives stage, mode and question"),
        ("core/knob_list.py", LISTED, "now_ms - self._touched_ms >= OPEN_MS", "False", "the list never closes by itself"),
        ("core/knob_list.py", LISTED, "            self._touched_ms = now_ms\n            self._at", "            self._at", "a turn does not keep the list open"),
        ("core/knob_list.py", LISTED, "not self.open and not pushed and closed_ms >= QUIET_MS", "not self.open and not pushed", "a hand that still turns moves the target"),
        ("core/knob_list.py", LISTED, "if (pushed or detents) and self._answers():", "if pushed and self._answers():", "a turn in the list answers no question"),
        ("core/knob_list.py", LISTED, "if (pushed or detents) and self._answers():", "if detents and self._answers():", "a push answers no question"),
        ("core/knob_list.py", LISTED, "elif pushed and shows and not pressed:", "elif pushed and not pressed:", "a list is opened that nobody sees"),
        ("core/knob_list.py", LISTED, "elif pushed and shows and not pressed:", "elif pushed and shows:", "a push opens the list beside a press"),
        ("core/knob_list.py", LISTED, "runner is None or runner.stage is None or controller.mode not in MARKED", "runner is None or runner.stage is None", "the list opens outside a run"),
        ("core/knob_list.py", LISTED, "controller.mode != self._mode or stage", "stage", "the list outlives its mode"),
        ("core/knob_list.py", LISTED, "stage != self._stage or ", "", "the list outlives its stage"),
        ("core/knob_list.py", LISTED, " or controller.waiting() != self._waiting", "", "the list hides a question"),
        ("core/knob_list.py", LISTED, "if MINUTES[at] <= left_min]", "if True]", "time is offered that is not left"),
        ("core/knob_list.py", LISTED, "            if stage.kind in KINDS:", "            if True:", "a ramp is offered more time"),
        ("core/knob_list.py", LISTED, '            if stage.kind not in ("set", "cool"):', "            if True:", "a set stage offers to back off"),
        ("core/knob_list.py", LISTED, "if stage is not None and self._controller.mode == \"running\":", "if stage is not None:", "a pause offers what moves a stage"),
        ("core/knob_list.py", LISTED, "        if self.said and (pressed or closed_ms >= SAID_MS):", "        if self.said and pressed:", "what came of a choice is told for ever"),
        ("core/knob_list.py", LISTED, "        if self.said and (pressed or closed_ms >= SAID_MS):", "        if self.said and closed_ms >= SAID_MS:", "a press leaves the old word standing"),
        ("core/knob_list.py", LISTED, "        return 0\n\n    def close", "        return detents\n\n    def close", "turning through the list moves the target"),
        ("core/alone.py", LISTED, "if pressed or detents or pushed:", "if pressed or detents:", "a push at rest is nothing"),
        ("core/faces.py", LISTED, "    picked = _picked(alone)\n    if picked:\n        return picked, False\n", "", "the open list is not shown"),
        ("core/beeps.py", BEEPS, 'if self._lasting in ("", "waiting"):', "if True:", "a choice at the knob silences what warns"),
        ("core/beeps.py", BEEPS, "                    self._play(self._lasting)\n", "                    pass\n", "a choice at the knob ends the reminders"),
        ("core/rig_panel.py", ("board/test_rig.py",), 'if push and not (display and table.has("knob_a")):', "if push and not display:", "a push switch without a knob is taken"),
        ("drivers/front.py", FRONT, "            if self._push.held():", "            if False:", "the hand that pushes turns the knob"),
        ("drivers/front.py", FRONT, "        self._face_ms = now_ms - FACE_MS\n        heard", "        heard", "the list is shown late"),
        ("drivers/front.py", FRONT, "            self._beeps.tell(heard)", "            pass", "what came of a choice is not heard"),
        ("drivers/push.py", FRONT, "        self._ticks = MOST_TICKS\n", "        self._ticks = 0\n", "a switch held since power-on counts"),
        ("drivers/push.py", FRONT, " and self._ticks < MOST_TICKS\n        self", "\n        self", "a switch that was stuck counts as it comes free"),
        ("drivers/push.py", FRONT, "return 0 < self._ticks < MOST_TICKS", "return 0 < self._ticks", "a switch that is stuck takes the knob's turns"),
        ("drivers/push.py", FRONT, "before == 3 and state == 0", "state == 0 and before != 0", "one tick of a level is a push"),
    )
]  # fmt: skip

_SENSING = [
    row("core/sensing.py", SENSING, old, new, what, *faults)
    for old, new, what, *faults in (
        ("(hi == 0 and lo == 0) or ", "", "a dead line is 0 C", "B10"),
        (" or (hi == 0xFFFF and lo == 0xFFFF)", "", "a line of ones is a frame", "B11"),
        ("if hi & 2 or lo & 8 or (flagged", "if (flagged", "reserved bits may be set"),
        (" or (flagged == 1) != (causes != 0)", "", "flags may contradict each other"),
        ("    if causes & 1:\n        return \"open\"\n", "", "an open circuit has a reading", "B1"),
        ("    if not COLD_MIN_C <= cold_c <= COLD_MAX_C:", "    if False:", "the box may have any temperature"),
        ("    if not READING_MIN_C <= temperature_c <= READING_MAX_C:", "    if False:", "any reading is plausible"),
    )
] + [
    row("core/senses.py", SENSING, "                item.temperature_c -= offset_k\n", "                pass\n", "an offset is not taken off"),
    row("core/senses.py", SENSING, " and item is not self._last[zone]", "", "an offset is taken off twice"),
    row("core/senses.py", SENSING, "temperature_c -= offset_k", "temperature_c += offset_k", "an offset is put on"),
    row("core/senses.py", SENSING, "            if item is not None:\n                self.newest", "            if temperature_c is not None:\n                self.newest", "a row tells a number where the last reading was a fault"),
]  # fmt: skip

_CONVERTERS = [
    row(file, CONVERTERS, old, new, what)
    for file, old, new, what in (
        ("core/max31856.py", "if some == 0 or every == 0xFF:", "if every == 0xFF:", "a dead line has lost its set-up"),
        ("core/max31856.py", "        if frame[i] != set_up[i]:", "        if False:", "limits and offset may be any"),
        ("core/max31856.py", "frame[1] == set_up[1] | CONVERTS and ", "", "a chip that converts nothing has a reading"),
        ("core/max31856.py", " and frame[2] == set_up[2]", "", "a chip may take the wire for another type"),
        ("core/max31856.py", " and frame[3] & MASKED == 0", "", "faults may be masked"),
        ("core/max31856.py", '(0x02, "overvoltage"), ', "", "voltage beyond the supply has a reading"),
        ("core/max31856.py", '(0x01, "open"), ', "", "an open circuit has a reading there"),
        ("core/max31856.py", "    if frame[12] & 3:", "    if False:", "bits that are always 0 may be set"),
        ("core/max6675.py", "    if word in (0, 0xFFFF):", "    if word == 0xFFFF:", "a dead line is as cold as it gets"),
        ("core/max6675.py", "    if word & 0x8002:", "    if False:", "sign and identity may be set"),
        ("core/max6675.py", "    if word & 4:", "    if False:", "an open MAX6675 has a reading"),
        ("core/max6675.py", 'return "" if word >> 3 else "implausible"', 'return ""', "its lowest word is a temperature"),
        ("drivers/max31856.py", "        elif now_ms < self._fresh_ms:", "        elif False:", "what was before a loss is a reading"),
        ("drivers/max31856.py", "                self._tell(now_ms)", "                pass", "a chip that forgot is told nothing"),
        ("drivers/max31856.py", "            self._modes.take(self._phase)", "            pass", "all chips are read in one mode"),
        ("drivers/max6675.py", "CONVERT_MS = 220", "CONVERT_MS = 90", "reading breaks off every conversion"),
        ("drivers/max6675.py", "            return self._item", "            return None", "evidence waits for the slow chip"),
    )
]  # fmt: skip

_LAW = [
    row("core/zone.py", LAW, "max(0.0, min(1.0, 1.0 + error_k / BUMP_FADE_K))", "1.0", "a zone above its target is given the bump"),
    row("core/zone.py", LAW, "        self._bump *= max(0.0, 1.0 - self._dt_s / BUMP_S)\n", "", "the bump never fades"),
    row("core/zone.py", LAW, "        self._bump = 0.0\n        if target_c is None:", "        if target_c is None:", "a new target keeps the bump"),
    row("core/zone.py", LAW, "if self.target_c is not None and not self._rising:", "if True:", "a zone on its way up is given the bump"),
    row("core/zone.py", LAW, "min(1.0, self._output(mean_c) + bump)", "self._output(mean_c)", "the form is met without a bump"),
    row("core/zone.py", LAW, "min(SLOPE_WINDOWS, round(SLOPE_S / window_s))", "SLOPE_WINDOWS", "long windows are averaged over minutes"),
    row("core/drive.py", LAW, "            self.loops[zone].meet_form()", "            pass", "no zone is told of the form"),
    row("core/relay_life.py", LAW, "(whole if whole == tenths else whole + 1)", "whole", "a window a little shorter than the life allows"),
    row("core/relay_life.py", LAW, "    if window_ms > LONGEST_MS:", "    if False:", "a life no window can give"),
    row("core/rig.py", LAW, "    if 0 < stated_ms < life_ms:", "    if False:", "a window shorter than the relay's life allows"),
    row("core/rig.py", LAW, "MECHANICAL_WINDOW_MS if unstated else", "", "a relay of unknown life is switched each second"),
    row("core/rig.py", LAW, "zone.gains = gains_for(window_ms)", "zone.gains = gains_for(1000)", "every window starts with the gains of the shortest"),
]  # fmt: skip

MUTANTS = [
    *_LAW,
    *_CONTROLLER,
    *_MODES,
    *_COURSE,
    *_WATCHING,
    *_MEMORY,
    *_WOOD,
    *_RAMP,
    *_DRIVE,
    *_LOOP,
    *_SENSING,
    *_CONVERTERS,
    *_PANEL,
    *_ACTS,
    *_AT_THE_KNOB,
]
