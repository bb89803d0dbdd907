"""Control of one zone: simple_pid inside a wrapper that does what matters for a heated stack.

The wrapper feeds the PID the mean reading of exactly one relay window, keeps it at full power
until the law asks for less, integrates only while the output is not saturated, starts the
integral from the slope measured on the way up (the share of full power that no longer raises
the temperature), scales the gains by the slope and lag of that same ramp, and adds a fading bump of
heat when the maker says that the strip meets the form.
"""

from simple_pid import PID

# The slope is taken over about this long, by no fewer and no more windows than these.
SLOPE_S = 8.0
SLOPE_LEAST = 4
SLOPE_WINDOWS = 8
# A ramp teaches something only when it rose well clear of noise and quantisation.
LEARN_RISE_K = 15.0
MIN_SLOPE_K_PER_S = 0.01
# What a cold form is about to take is given at once, and less of it as time passes; none of it to a zone
# that reads this far above its target, where nothing was taken.
BUMP_DUTY = 0.25
BUMP_S = 45.0
BUMP_FADE_K = 1.0


def _no_clock() -> float:
    """simple_pid reads a clock even when the time step is given; ours does not tick."""
    return 0.0


def slope_windows(window_s: float) -> int:
    """How many window means the slope is taken over; window_s: length of one."""
    return max(SLOPE_LEAST, min(SLOPE_WINDOWS, round(SLOPE_S / window_s)))


class ZoneLoop:
    """State of one zone's control: the PID, at most eight window means and about ten numbers.

    gains: mapping with c_gain, c_integral, c_derivative, kappa (self-scaling law) and kp, ki, kd
    (used until a ramp has taught slope and lag). window_ms: relay window.

    cut: set by the caller when the branch gave less than the duty in the window that ends.
    """

    def __init__(self, gains: dict[str, float], window_ms: int) -> None:
        self.target_c: float | None = None
        self.mean_c: float | None = None
        self.duty = 0.0
        self.cut = False
        self._gains = gains
        self._dt_s = window_ms / 1000.0
        self._pid = PID(0.0, 0.0, 0.0, 0.0, sample_time=None, output_limits=(0.0, 1.0), time_fn=_no_clock)
        self._span = slope_windows(self._dt_s)
        self._means = [0.0] * self._span
        self._count = 0
        self._sum_c = 0.0
        self._samples = 0
        self.ambient_c = 20.0
        self.best_slope_k_per_s = 0.0  # at full power, this rise
        self.lag_s = 0.0
        self._law_slope_k_per_s = 0.0  # what the law is scaled by; outlives the rise that taught it
        self._rise_s = 0.0
        self._rise_from_c = 0.0
        self._full_windows = 0
        self._rising = False
        self._bump = 0.0  # duty still to be given beyond the law's

    def add(self, temperature_c: float) -> None:
        """Take one good reading of the present window.

        temperature_c: admitted by the guard, C.
        """
        self._sum_c += temperature_c
        self._samples += 1

    def aim(self, target_c: float | None) -> None:
        """Set the wanted temperature.

        target_c: C, or None for heat off.
        """
        old_c = self.target_c
        self.target_c = target_c
        self._bump = 0.0
        if target_c is None:
            self._rising = False
            self.duty = 0.0
            return
        if old_c is None or target_c > old_c + 5.0:
            self._start_rise()
        elif target_c != old_c and not self._rising:
            # What holds a temperature grows with its height above the room: hand that over.
            above_k = max(old_c - self.ambient_c, 1.0)
            share = max(target_c - self.ambient_c, 0.0) / above_k
            self._preload(self._pid.components[1] * min(share, 2.0))

    def meet_form(self) -> None:
        """The maker says that this zone's strip meets the form now: heat ahead of the dip."""
        if self.target_c is not None and not self._rising:
            self._bump = BUMP_DUTY

    def _start_rise(self) -> None:
        self._rising = True
        self._rise_s = 0.0
        self._full_windows = 0
        self.best_slope_k_per_s = 0.0
        self._count = 0

    def window(self) -> float:
        """Close the present relay window and return the duty of the next, 0 to 1.

        Without a single good reading in the window, or without a target, the answer is 0.
        """
        samples = self._samples
        mean_c = self._sum_c / samples if samples else None
        self._sum_c = 0.0
        self._samples = 0
        self.mean_c = mean_c
        target_c = self.target_c
        if mean_c is None or target_c is None:
            self.duty = 0.0
            self._count = 0
            return 0.0
        if self._count == 0 and self._rising and self._rise_s == 0.0:
            self._rise_from_c = mean_c
        previous_c = self._means[(self._count - 1) % self._span] if self._count else mean_c
        self._means[self._count % self._span] = mean_c
        self._count += 1
        if self._rising:
            self._rise(target_c, mean_c, previous_c)
        else:
            self._steer(target_c, mean_c, previous_c)
        return self.duty

    def _slope_k_per_s(self) -> float:
        """Least-squares slope of the last window means; 0 until there are enough."""
        span = self._span
        if self._count < span:
            return 0.0
        weighted = 0.0
        squares = 0.0
        middle = (span - 1) / 2.0
        for i in range(span):
            away = i - middle
            weighted += away * self._means[(self._count + i) % span]
            squares += away * away
        return weighted / (squares * self._dt_s)

    def _learn(self, mean_c: float, slope_k_per_s: float) -> None:
        """Keep the largest slope at full power and the lag it shows (tangent's crossing)."""
        if self._full_windows < self._span or slope_k_per_s <= self.best_slope_k_per_s:
            return
        if slope_k_per_s < MIN_SLOPE_K_PER_S or mean_c - self._rise_from_c < LEARN_RISE_K:
            return
        self.best_slope_k_per_s = slope_k_per_s
        # The slope belongs to the middle of its windows.
        middle_s = self._rise_s - self._span * self._dt_s / 2.0
        middle_c = 0.0
        for value in self._means:
            middle_c += value
        middle_c /= self._span
        self.lag_s = max(middle_s - (middle_c - self._rise_from_c) / slope_k_per_s, 0.0)
        self._law_slope_k_per_s = slope_k_per_s

    def _tune(self) -> tuple[float, float, float]:
        """Gains (kp in 1/K, ki in 1/(K s), kd in s/K) of the law as it stands."""
        gains = self._gains
        if not self._law_slope_k_per_s > 0.0:
            return gains["kp"], gains["ki"], gains["kd"]
        lag_s = self.lag_s + self._dt_s / 2.0
        kp = gains["c_gain"] / (self._law_slope_k_per_s * lag_s)
        return kp, kp / (gains["c_integral"] * lag_s), kp * gains["c_derivative"] * lag_s

    def _preload(self, integral: float) -> None:
        self._pid.set_auto_mode(False)
        self._pid.set_auto_mode(True, integral)

    def _output(self, mean_c: float) -> float:
        # A law that gives no output, which automatic mode never does, would mean no heat.
        return self._pid(mean_c, dt=self._dt_s) or 0.0

    def _rise(self, target_c: float, mean_c: float, previous_c: float) -> None:
        """Full power until the law, its integral preloaded from the slope, asks for less."""
        slope_k_per_s = self._slope_k_per_s()
        self._learn(mean_c, slope_k_per_s)
        self._rise_s += self._dt_s
        best = self.best_slope_k_per_s
        # Nothing learned (a short rise): assume half of full power is lost to the room and the wood.
        integral = 1.0 - self._gains["kappa"] * slope_k_per_s / best if best > 0.0 else 0.5
        self._preload(max(0.0, min(1.0, integral)))
        kp, _, kd = self._tune()
        self._pid.setpoint = target_c
        # The derivative needs the window before; with no integral gain that call changes nothing else.
        self._pid.tunings = (kp, 0.0, kd)
        self._pid(previous_c, dt=self._dt_s)
        self.duty = self._output(mean_c)
        if self.duty >= 1.0:
            # What rises at a part of the power teaches nothing about all of it.
            self._full_windows = 0 if self.cut else self._full_windows + 1
        else:
            self._rising = False

    def _steer(self, target_c: float, mean_c: float, previous_c: float) -> None:
        """One step of the law, the integral standing still while the output is saturated."""
        kp, ki, kd = self._tune()
        pid = self._pid
        pid.setpoint = target_c
        error_k = target_c - mean_c
        bump = self._bump * max(0.0, min(1.0, 1.0 + error_k / BUMP_FADE_K))
        self._bump *= max(0.0, 1.0 - self._dt_s / BUMP_S)
        raw = kp * error_k + pid.components[1] - kd * (mean_c - previous_c) / self._dt_s + bump
        saturated = ((raw >= 1.0 or self.cut) and error_k > 0.0) or (raw <= 0.0 and error_k < 0.0)
        pid.tunings = (kp, 0.0 if saturated else ki, kd)
        self.duty = min(1.0, self._output(mean_c) + bump)
