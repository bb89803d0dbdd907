"""The independent temperature cut-off of a blanket: its own sensor, its own switch, nothing of the firmware.

It opens the blanket's own mains lead and stays open; only a hand closes it again, so nothing here does.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

# A manual-reset disc bonded to the blanket: where it opens and how far it lags (project design).
OPENS_C = 215.0
LAG_S = 20.0


@dataclass
class CutOff:
    """One cut-off. opens_c: where its switch opens [C]. lag_s: time constant behind the blanket [s].

    `open` latches; `sensor_c` is what its sensor has, None before anything was fed.
    """

    opens_c: float = OPENS_C
    lag_s: float = LAG_S
    open: bool = False
    sensor_c: float | None = None
    _blanket_c: float = 0.0

    def feed(self, blanket_c: float, dt_s: float) -> bool:
        """Follow the blanket, now at blanket_c [C], over the dt_s [s] since the last call; return whether
        the switch is open.

        Between two calls the blanket is taken to have moved in a straight line, so that calls far apart
        give what calls close together do.
        """
        if self.sensor_c is None:
            self.sensor_c = self._blanket_c = blanket_c
        elif dt_s > 0.0:
            # First-order lag behind a ramp, in closed form.
            behind_c = (blanket_c - self._blanket_c) / dt_s * self.lag_s
            start_c = self.sensor_c - self._blanket_c + behind_c
            self.sensor_c = blanket_c - behind_c + start_c * math.exp(-dt_s / self.lag_s)
            self._blanket_c = blanket_c
        if self.sensor_c >= self.opens_c:
            self.open = True
        return self.open
