"""Relative humidity as sensors read it, and what can stand in where none was there."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from wintering.science.evidence import Evidence
from wintering.science.vapour import surface_kpa

DRIEST_PCT, WETTEST_PCT = 0.5, 100.0
"""Readings are held between these: drier air is beyond every sensor in a frame, wetter
air is a sensor that has drifted or is wet itself. Own choice."""

HIGHEST_CREDIBLE_PCT = 110.0
"""Above this, as below 0, a reading is a fault and not drift: own choice."""

DRIFT_H = 24
"""So many hours in a row above 100 % speak of drift: own choice."""

DRY_NIGHT_K = 3.0
"""By how much the dew point can lie below a night's lowest temperature: FAO-56 allows
for 2 to 3 K in dry places; from memory."""


@dataclass(frozen=True, eq=False)
class UsableHumidity:
    """Relative humidity that can be computed with.

    rh_pct      each hour's humidity over liquid water [%], from 0.5 to 100; not a
                number where it is missing or set aside
    capped_h    hours that read above 100 % and count as 100
    set_aside   hours with a reading that is no humidity
    warning     a sentence if the sensor seems to have drifted, else empty
    """

    rh_pct: NDArray[np.float64]
    capped_h: int
    set_aside: int
    warning: str


def usable_rh(rh_pct: ArrayLike) -> UsableHumidity:
    """Hourly relative humidity held between 0.5 and 100 %, and what was done to it.

    rh_pct  readings [%], not a number where an hour is missing
    """
    read = np.asarray(rh_pct, dtype=np.float64)
    fault = (read < 0) | (read > HIGHEST_CREDIBLE_PCT)
    kept = np.where(fault, np.nan, read)
    capped = kept > WETTEST_PCT
    drifted_h = _longest_run(capped)
    warning = (
        f"The humidity sensor read above 100 % for {drifted_h} hours on end: check it "
        "against a salt solution or replace it; until then wet hours may be too many."
        if drifted_h >= DRIFT_H
        else ""
    )
    return UsableHumidity(
        rh_pct=np.clip(kept, DRIEST_PCT, WETTEST_PCT),
        capped_h=int(capped.sum()),
        set_aside=int(fault.sum()),
        warning=warning,
    )


def _longest_run(true: NDArray[np.bool_]) -> int:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], true.astype(int), [0]])))
    return int((edges[1::2] - edges[::2]).max(initial=0))


@dataclass(frozen=True, eq=False)
class EstimatedVapour:
    """Vapour pressure that nobody measured [kPa]: likely, and how low it may be."""

    kpa: NDArray[np.float64]
    low_kpa: NDArray[np.float64]
    because: str
    evidence: Evidence


def vapour_from_night_low(low_c: ArrayLike) -> EstimatedVapour:
    """Vapour pressure of days without a humidity reading, from each day's lowest.

    low_c  lowest temperature outside, of each day [°C]

    FAO-56 eq 48 (from memory): a night cools until dew holds it, so the dew point lies
    near the lowest temperature. Below 0 °C it is hoar frost that holds it: own choice.
    The caller asks for this and shows that it is an estimate.
    """
    low = np.asarray(low_c, dtype=np.float64)
    return EstimatedVapour(
        kpa=surface_kpa(low),
        low_kpa=surface_kpa(low - DRY_NIGHT_K),
        because=(
            "No humidity was measured: the air's moisture is estimated from the "
            f"night's lowest temperature, and may be up to {DRY_NIGHT_K:.0f} K of dew "
            "point drier. Low confidence."
        ),
        evidence=Evidence.FROM_MEMORY,
    )
