"""Stand-in blankets for tests of the tick: heated by what relays and contactor really let through.

Each follows dT/dt = RESPONSE_K_PER_S u - (T - room) / SETTLE_S with u = 1 while its relay is on and the
contactor closed. It is a quick one, so that a test need not wait; the rig it belongs to says so itself.
"""

RESPONSE_K_PER_S = 5.0
# 5 K/s and 65 s: 325 K above the room if it went on for ever, 150 C at four tenths of full power.
SETTLE_S = 65.0
ROOM_C = 20.0
# Up and down in turn: no converter shows the same bits for ever.
DITHER_C = 0.03


def quick(rig):
    """The rig, its zones declared as quick as these blankets."""
    for zone in rig.zones:
        zone.response_k_per_s = RESPONSE_K_PER_S
    return rig


class Blankets:
    """All blankets of a rig behind its contactor.

    zones: how many.

    temps_c: their temperatures. on_ms: how long each was really heated. relays_ms: how long each relay was
    on. response: K/s each. relay_of: per blanket the relay it hangs on. welded: the contactor stays closed.
    """

    def __init__(self, zones, start_c=ROOM_C):
        self.temps_c = [start_c] * zones
        self.on_ms = [0] * zones
        self.relays_ms = [0] * zones
        self.response = [RESPONSE_K_PER_S] * zones
        self.relay_of = list(range(zones))
        self.welded = False

    def flow(self, controller, from_ms, to_ms):
        """Let time pass as the loop does it: relays switch at their edges, the contactor follows the tick."""
        at_ms = from_ms
        closed = controller.alive_due() or self.welded
        while at_ms < to_ms:
            states = controller.outputs(at_ms)
            until_ms = min(to_ms, max(at_ms + 10, controller.next_edge_ms(at_ms)))
            dt_s = (until_ms - at_ms) / 1000.0
            for zone in range(len(self.temps_c)):
                on = states[self.relay_of[zone]]
                self.relays_ms[zone] += until_ms - at_ms if on else 0
                above_k = self.temps_c[zone] - ROOM_C
                heat = self.response[zone] if on and closed else 0.0
                self.on_ms[zone] += until_ms - at_ms if heat else 0
                self.temps_c[zone] += (heat - above_k / SETTLE_S) * dt_s
            at_ms = until_ms
