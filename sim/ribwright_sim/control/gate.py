"""What the board's control must reach on stacks it was not tuned on, and what it must be ahead of."""

from __future__ import annotations

from collections.abc import Mapping

# Limits at 150 and 177 C, one-second window unless the name says otherwise; at least for joint_pass, at most
# for the rest. They are the project's own, taken from a first study on another draw of the same ensemble.
LIMITS: dict[str, tuple[float, float]] = {
    "overshoot_k_p95": (0.9, 0.9),
    "overshoot_k_max": (1.8, 1.8),
    "settle_over_bound_p50": (1.01, 1.01),
    "settle_over_bound_p95": (1.03, 1.03),
    "settle_over_bound_max": (1.15, 1.15),
    "hold_rms_k_p50": (0.15, 0.15),
    "hold_rms_k_p95": (0.23, 0.25),
    "undershoot_k_p95": (0.8, 0.8),
    "after_contact_k_p95": (0.9, 0.9),
    "excess_dip_k_p95": (4.5, 4.5),
    "excess_recover_s_p95": (30.0, 30.0),
    "joint_pass": (0.90, 0.88),
}
WITH_SIGNAL: dict[str, tuple[float, float]] = {
    "excess_dip_k_p95": (2.8, 2.8),
    "after_contact_k_p95": (1.7, 1.7),
    "excess_recover_s_p95": (26.0, 26.0),
}
TWO_SECONDS: dict[str, tuple[float, float]] = {
    "overshoot_k_p95": (1.7, 1.7),
    "hold_rms_k_p95": (0.27, 0.27),
    "relay_cycles_per_min": (31.0, 31.0),
}
NOISE_X2: dict[str, tuple[float, float]] = {
    "overshoot_k_p95": (1.5, 1.5),
    "settle_over_bound_p95": (1.06, 1.06),
}
# Figures in which it must be ahead of every rule as a library is used, and of on/off.
AHEAD = ("overshoot_k_p95", "hold_rms_k_p95", "settle_over_bound_p95", "joint_pass")
ROWS = tuple(LIMITS)


def better(name: str, one: float, other: float) -> bool:
    """Whether `one` is strictly better than `other` in a figure.

    Args:
        name: of the figure; of joint_pass more is better, of all others less.
        one: a value of it.
        other: the value it must be better than.
    """
    return one > other if name == "joint_pass" else one < other


def holds(name: str, value: float, limit: float) -> bool:
    """Whether a value keeps its limit.

    Args:
        name: of the figure; joint_pass must not be below its limit, all others not above.
        value: what was reached.
        limit: what must be.
    """
    return value >= limit if name == "joint_pass" else value <= limit


def missed(values: Mapping[str, float], seed: str = "") -> list[str]:
    """Every row of the gate that does not hold, with what was seen and the limit.

    Args:
        values: by key as control.json has them.
        seed: part of the keys of another seed than the unseen one, with its underscore.
    """
    found: list[str] = []
    for temperature, at in (("150c", 0), ("177c", 1)):
        for method, limits, window in (
            ("ours", LIMITS, "1s"),
            ("ours_signal", WITH_SIGNAL, "1s"),
            ("ours", TWO_SECONDS, "2s"),
            ("ours_noise_x2", NOISE_X2, "1s"),
        ):
            for name, both in limits.items():
                key = f"{method}_{seed}{temperature}_{window}_{name}"
                if key in values and not holds(name, values[key], both[at]):
                    found.append(f"{key} {values[key]:.3f}, limit {both[at]:g}")
    return found


def not_ahead(values: Mapping[str, float], bare: list[str]) -> list[str]:
    """Where the board's control is not ahead of a bare rule or of on/off, one-second window.

    Args:
        values: by key as control.json has them.
        bare: names of those methods.
    """
    found: list[str] = []
    for temperature in ("150c", "177c"):
        for method in bare:
            for name in (*AHEAD, "excess_dip_k_p95"):
                ours = "ours_signal" if name == "excess_dip_k_p95" else "ours"
                mine, other = (values[f"{one}_{temperature}_1s_{name}"] for one in (ours, method))
                if not better(name, mine, other):
                    found.append(f"{method}_{temperature}_1s_{name} {other:.3f}, ours {mine:.3f}")
    return found


def ahead_of_reference(values: Mapping[str, float], temperature: str) -> list[str]:
    """Rows of the gate in which the board's control is ahead of the reference law.

    Args:
        values: by key as control.json has them.
        temperature: "150c" or "177c".
    """
    return [
        name
        for name in ROWS
        if better(
            name, values[f"ours_{temperature}_1s_{name}"], values[f"reference_law_{temperature}_1s_{name}"]
        )
    ]
