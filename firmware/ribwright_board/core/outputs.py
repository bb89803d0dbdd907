"""What the relays are doing and for how long: states from plan and permission, time in whole ms."""


class Outputs:
    """Relay states of all zones.

    zones: number of zones.

    on: per zone its state. off_ms: per zone when it went off last. switches: per zone how often it came on.
    """

    def __init__(self, zones: int) -> None:
        self.on = [False] * zones
        self.off_ms = [-1000] * zones  # nothing conducts at power-on
        self.switches = [0] * zones
        self._since_ms = [0] * zones
        self._total_ms = [0] * zones

    def put(self, zone: int, on: bool, now_ms: int) -> None:
        """Set one zone's state and account the time it was on.

        zone: position. on: wanted state. now_ms: present time.
        """
        if on and not self.on[zone]:
            self._since_ms[zone] = now_ms
            self.switches[zone] += 1
        elif self.on[zone] and not on:
            self._total_ms[zone] += now_ms - self._since_ms[zone]
            self.off_ms[zone] = now_ms
        self.on[zone] = on

    def take_ms(self, zone: int, now_ms: int) -> int:
        """On-time since the last taking, ms.

        zone: position. now_ms: present time.
        """
        if self.on[zone]:
            self._total_ms[zone] += now_ms - self._since_ms[zone]
            self._since_ms[zone] = now_ms
        total_ms = self._total_ms[zone]
        self._total_ms[zone] = 0
        return total_ms
