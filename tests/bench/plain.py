"""All models of chill and warmth as plain loops over the hours, formula by formula.

Written from the published equations and constants, not from wintering.science: it is
what the vectorised code is compared with, in its results and in its time.
"""

from math import cos, exp, isnan, pi


def plain_totals(c: list[float]) -> dict[str, float]:
    """Totals of one sensor's hours [°C]; an hour that is not a number is missing."""
    known = in_band = below = 0
    utah = utah_positive = linear = curved = 0.0
    for t in c:
        if isnan(t):
            continue
        if not -60.0 <= t <= 70.0:
            raise ValueError(f"{t} °C is beyond the range of the models.")
        known += 1
        hour_c = round(t, 6)
        in_band += plain_chill_hour_0_7(hour_c)
        below += plain_chill_hour_below_7(hour_c)
        units = plain_utah(hour_c)
        utah += units
        utah_positive += max(units, 0.0)
        linear += plain_gdh_linear(t)
        curved += plain_gdh_curvilinear(t)
    portions, after_frost = plain_portions(c)
    high = portions
    if known < len(c):
        high = max(high, plain_portions([6.0 if isnan(t) else t for t in c])[0])
    return {
        "known_h": known,
        "chill_hours_0_7": in_band,
        "chill_hours_below_7": below,
        "utah": utah,
        "utah_positive": utah_positive,
        "gdh_linear": linear,
        "gdh_curvilinear": curved,
        "portions": portions,
        "after_frost": after_frost,
        "chill_hours_0_7_high": in_band + len(c) - known,
        "portions_high": high,
    }


def plain_chill_hour_0_7(t: float) -> int:
    return 1 if 0.0 <= t <= 7.2 else 0


def plain_chill_hour_below_7(t: float) -> int:
    return 1 if t <= 7.2 else 0


def plain_utah(t: float) -> float:
    if t <= 1.4:
        return 0.0
    if t <= 2.4:
        return 0.5
    if t <= 9.1:
        return 1.0
    if t <= 12.4:
        return 0.5
    if t <= 15.9:
        return 0.0
    return -0.5 if t <= 18.0 else -1.0


def plain_gdh_linear(t: float) -> float:
    return min(max(t - 4.5, 0.0), 20.5)


def plain_gdh_curvilinear(t: float) -> float:
    if t <= 4.0 or t >= 36.0:
        return 0.0
    if t <= 25.0:
        return 10.5 * (1.0 + cos(pi + pi * (t - 4.0) / 21.0))
    return 21.0 * (1.0 + cos(pi / 2.0 + pi / 2.0 * (t - 25.0) / 11.0))


def plain_portions(c: list[float]) -> tuple[float, float]:
    """Chill portions, and those of them fixed within 24 h after an hour below -2 °C."""
    x = portions = after_frost = 0.0
    since_frost_h = 25
    for t in c:
        if not isnan(t):
            kelvin = t + 273.0
            k0, k1 = (
                139_500.0 * exp(-4153.5 / kelvin),
                2.567e18 * exp(-12888.8 / kelvin),
            )
            settled = k0 / k1
            x = settled - (settled - x) * exp(-k1)
            if x >= 1.0:
                share = 1.0 / (1.0 + exp(-1.6 * 277.0 * (kelvin - 277.0) / kelvin))
                portions += share * x
                if since_frost_h <= 24:
                    after_frost += share * x
                x -= share * x
        since_frost_h = 1 if t < -2.0 else since_frost_h + 1
    return portions, after_frost
