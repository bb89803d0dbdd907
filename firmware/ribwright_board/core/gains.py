"""Coefficients of the zone law: what a rig without tuned ones starts with, by length of its relay window."""

GAIN_NAMES = ("c_gain", "c_integral", "c_derivative", "kappa", "kp", "ki", "kd")

# Longest window [ms] they serve; self-scaling law, then the fixed fallback until a ramp has taught it.
# Found on 80 stacks drawn from seed 20240601, judged on others by `make control`.
BY_WINDOW = (
    (1500, (2.23, 2.83, 0.588, 1.38, 0.262, 0.0188, 0.76)),
    (3500, (1.05, 3.0, 0.75, 1.44, 0.112, 0.0069, 0.45)),
    (10000, (0.576, 5.63, 0.661, 1.73, 0.048, 0.0012, 0.22)),
    (20000, (0.35, 20.9, 0.691, 2.79, 0.014, 0.00005, 0.14)),
)


def gains_for(window_ms: int) -> dict[str, float]:
    """Starting gains by name; window_ms: relay window, longer than the longest known is served as that."""
    values = BY_WINDOW[-1][1]
    for longest_ms, served in BY_WINDOW:
        if window_ms <= longest_ms:
            values = served
            break
    return {GAIN_NAMES[i]: values[i] for i in range(len(GAIN_NAMES))}


DEFAULT_GAINS = gains_for(1000)
