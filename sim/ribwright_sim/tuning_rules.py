"""Textbook tuning rules: settings of a PID from a small model or from the ultimate point.

Every rule gives ideal-form settings.  "Seen" means that the formula was found in print or in a publisher's
file, "from memory" that it was not.  They are what our own controller is compared with; it uses none of them.
Short names in the formulas: K gain, T lag_s, L dead_s, a = K L / T, r = L / T.
"""

from __future__ import annotations

from .loop_models import (
    FirstOrder,
    Integrating,
    PidSettings,
    SecondOrder,
    SeriesSettings,
    UltimatePoint,
    checked,
)

_NO_DEAD_TIME = "the rule divides by it; add half the window, see with_window()"


def _dead_s(model: FirstOrder) -> float:
    return checked("dead_s", model.dead_s, "s", _NO_DEAD_TIME)


def ziegler_nichols_pi(point: UltimatePoint) -> PidSettings:
    """PI of the closed-loop rule: 0.45 Ku, Tu / 1.2.

    Ziegler and Nichols 1942; seen in several texts (one course sheet prints Ku / 2.2 instead).
    Args: point, the ultimate gain and period.
    """
    return PidSettings(0.45 * point.gain, point.period_s / 1.2)


def ziegler_nichols_pid(point: UltimatePoint) -> PidSettings:
    """PID of the closed-loop rule: 0.6 Ku, Tu / 2, Tu / 8.

    Ziegler and Nichols 1942; seen in several texts (one course sheet prints Ku / 1.7 instead).
    Args: point, the ultimate gain and period.

    >>> ziegler_nichols_pid(UltimatePoint(10.0, 8.0))
    PidSettings(kc=6.0, ti_s=4.0, td_s=1.0)
    """
    return PidSettings(0.6 * point.gain, point.period_s / 2.0, point.period_s / 8.0)


def tyreus_luyben_pi(point: UltimatePoint) -> PidSettings:
    """PI after Tyreus and Luyben: Ku / 3.2, 2.2 Tu.  Seen in a university course sheet.

    Args: point, the ultimate gain and period.
    """
    return PidSettings(point.gain / 3.2, 2.2 * point.period_s)


def tyreus_luyben_pid(point: UltimatePoint) -> PidSettings:
    """PID after Tyreus and Luyben: Ku / 2.2, 2.2 Tu, Tu / 6.3.  Seen in a university course sheet.

    Args: point, the ultimate gain and period.
    """
    return PidSettings(point.gain / 2.2, 2.2 * point.period_s, point.period_s / 6.3)


def ziegler_nichols_step_pi(model: FirstOrder) -> PidSettings:
    """PI of the step-response rule: 0.9 / a, L / 0.3.

    Ziegler and Nichols 1942; seen in a handbook publisher's files.
    Args: model; raises StackError without dead time.
    """
    dead_s = _dead_s(model)
    return PidSettings(0.9 * model.lag_s / (model.gain * dead_s), dead_s / 0.3)


def ziegler_nichols_step_pid(model: FirstOrder) -> PidSettings:
    """PID of the step-response rule: 1.2 / a, 2 L, L / 2.

    Ziegler and Nichols 1942; seen in a handbook publisher's files.
    Args: model; raises StackError without dead time.

    >>> ziegler_nichols_step_pid(FirstOrder(1.0, 10.0, 1.0))
    PidSettings(kc=12.0, ti_s=2.0, td_s=0.5)
    """
    dead_s = _dead_s(model)
    return PidSettings(1.2 * model.lag_s / (model.gain * dead_s), 2.0 * dead_s, dead_s / 2.0)


def cohen_coon_pi(model: FirstOrder) -> PidSettings:
    """PI after Cohen and Coon 1953: (0.9 + r / 12) / a, L (30 + 3 r) / (9 + 20 r).

    Seen in a handbook publisher's files.
    Args: model; raises StackError without dead time.
    """
    dead_s = _dead_s(model)
    r = dead_s / model.lag_s
    return PidSettings((0.9 + r / 12.0) / (model.gain * r), dead_s * (30.0 + 3.0 * r) / (9.0 + 20.0 * r))


def cohen_coon_pid(model: FirstOrder) -> PidSettings:
    """PID after Cohen and Coon 1953: (4/3 + r / 4) / a, L (32 + 6 r) / (13 + 8 r), 4 L / (11 + 2 r).

    Seen in a handbook publisher's files.
    Args: model; raises StackError without dead time.
    """
    dead_s = _dead_s(model)
    r = dead_s / model.lag_s
    kc = (4.0 / 3.0 + r / 4.0) / (model.gain * r)
    return PidSettings(kc, dead_s * (32.0 + 6.0 * r) / (13.0 + 8.0 * r), 4.0 * dead_s / (11.0 + 2.0 * r))


def amigo_pi(model: FirstOrder) -> PidSettings:
    """PI after Astrom and Hagglund 2004 (AMIGO).

    kc = 0.15 / K + (0.35 - L T / (L + T)^2) T / (K L), from memory;
    ti = 0.35 L + 13 L T^2 / (T^2 + 12 L T + 7 L^2), seen in the documentation of a model library.
    Args: model; raises StackError without dead time.
    """
    k, t, dead_s = model.gain, model.lag_s, _dead_s(model)
    kc = 0.15 / k + (0.35 - dead_s * t / (dead_s + t) ** 2) * t / (k * dead_s)
    return PidSettings(
        kc, 0.35 * dead_s + 13.0 * dead_s * t**2 / (t**2 + 12.0 * dead_s * t + 7.0 * dead_s**2)
    )


def amigo_pid(model: FirstOrder) -> PidSettings:
    """PID after Astrom and Hagglund 2004 (AMIGO).

    kc = (0.2 + 0.45 T / L) / K; ti = L (0.4 L + 0.8 T) / (L + 0.1 T); td = 0.5 L T / (0.3 L + T); times
    seen in the documentation of a model library, which misprints the gain: its product is from memory.
    Args: model; raises StackError without dead time.
    """
    k, t, dead_s = model.gain, model.lag_s, _dead_s(model)
    ti_s = dead_s * (0.4 * dead_s + 0.8 * t) / (dead_s + 0.1 * t)
    return PidSettings((0.2 + 0.45 * t / dead_s) / k, ti_s, 0.5 * dead_s * t / (0.3 * dead_s + t))


def _tc_plus_dead_s(dead_s: float, tc_s: float | None) -> float:
    if tc_s is None:
        return 2.0 * checked("dead_s", dead_s, "s", "give tc_s, which else is the dead time")
    checked("tc_s", tc_s, "s", "give the wanted closed-loop time", zero=True)
    return checked("tc_s + dead_s", tc_s + dead_s, "s", "give a slower tc_s")


def simc_pi(model: FirstOrder | Integrating, tc_s: float | None = None) -> PidSettings:
    """PI after Skogestad 2003 (SIMC): T / (K (tc + L)), min(T, 4 (tc + L)); integrating 1 / (k' (tc + L)).

    Seen on the author's page; the integrating form seen second-hand.  The lag of an integrating model counts
    half as dead time, by the half rule.
    Args: model; tc_s, wanted closed-loop time [s], the dead time if absent (tight).
    Raises StackError where tc + L is not above 0, and for a tc_s that is negative or not finite.

    >>> simc_pi(FirstOrder(2.0, 10.0, 1.0))
    PidSettings(kc=2.5, ti_s=8.0, td_s=0.0)
    """
    if isinstance(model, Integrating):
        slow_s = _tc_plus_dead_s(model.dead_s + 0.5 * model.lag_s, tc_s)
        return PidSettings(1.0 / (model.slope_per_s * slow_s), 4.0 * slow_s)
    slow_s = _tc_plus_dead_s(model.dead_s, tc_s)
    return PidSettings(model.lag_s / (model.gain * slow_s), min(model.lag_s, 4.0 * slow_s))


def simc_series(model: SecondOrder | Integrating, tc_s: float | None = None) -> SeriesSettings:
    """Series PID after Skogestad 2003 (SIMC): kc and ti as simc_pi() with the larger lag, td the smaller one.

    From memory, with one published example seen.
    Args and errors as simc_pi().
    """
    slow_s = _tc_plus_dead_s(model.dead_s, tc_s)
    if isinstance(model, Integrating):
        return SeriesSettings(1.0 / (model.slope_per_s * slow_s), 4.0 * slow_s, model.lag_s)
    kc = model.lag_s / (model.gain * slow_s)
    return SeriesSettings(kc, min(model.lag_s, 4.0 * slow_s), model.second_lag_s)


def simc_pid(model: SecondOrder | Integrating, tc_s: float | None = None) -> PidSettings:
    """PID after Skogestad 2003 (SIMC), in ideal form; source, arguments and errors as simc_series()."""
    return series_to_ideal(simc_series(model, tc_s))


def series_to_ideal(series: SeriesSettings) -> PidSettings:
    """Ideal-form settings of a series PID: with f = 1 + td / ti they are kc f, ti f, td / f.

    From memory; exact, as multiplying the two factors out shows.
    Args: series, settings of the series form.

    >>> series_to_ideal(SeriesSettings(1.0, 4.0, 4.0))
    PidSettings(kc=2.0, ti_s=8.0, td_s=2.0)
    """
    f = 1.0 + series.td_s / series.ti_s
    return PidSettings(series.kc * f, series.ti_s * f, series.td_s / f)
