"""What the air asks for by its night's lowest temperature, against measured humidity.

Two winters in the open and two in a ventilated roof space without heat, whose vapour is
that of the air outside. The estimate is a stand-in: by single days it is poor, and only
its mean over weeks is of use, so only that is held.
"""

import csv
from pathlib import Path

import numpy as np
import pytest

from wintering.science.evaporation import frame_demand_mm_d
from wintering.science.humidity import usable_rh, vapour_from_night_low
from wintering.science.vapour import deficit_kpa, vapour_kpa

OPEN_FIELD = "ma_outdoor_2015_hourly.csv"
ROOF_SPACE = "fi_roofspace_in_out_solar_2010_2012_hourly.csv"
WINTER = {11, 12, 1, 2, 3}


def _whole_days(path: Path, columns: tuple[str, ...]) -> list[np.ndarray]:
    """Rows of 24 hours of the winter months, by the file's own fixed clock."""
    with path.open(newline="") as lines:
        rows = [
            [row["timestamp"][5:7], *(row[name] or "nan" for name in columns)]
            for row in csv.DictReader(lines)
        ]
    cells = np.array(rows, dtype=float)
    days = cells[: len(cells) // 24 * 24].reshape(-1, 24, len(columns) + 1)
    winter = days[np.isin(days[:, 0, 0], list(WINTER))]
    known = winter[~np.isnan(winter).any(axis=(1, 2))]
    return [known[:, :, number + 1] for number in range(len(columns))]


def _mean_mm(c: np.ndarray, kpa: np.ndarray) -> float:
    return float(frame_demand_mm_d(c, deficit_kpa(kpa, c), 0.0).mean())


@pytest.mark.parametrize(
    ("file", "outside", "rh", "inside"),
    [
        (OPEN_FIELD, "air_c", "rh_pct", "air_c"),
        (ROOF_SPACE, "out_c", "out_rh_pct", "out_c"),
        (ROOF_SPACE, "out_c", "out_rh_pct", "roofspace_air_c"),
    ],
)
def test_the_mean_of_a_winter_is_met_within_a_factor_of_two(
    real_data: Path, file: str, outside: str, rh: str, inside: str
):
    out_c, rh_pct, c = _whole_days(real_data / file, (outside, rh, inside))
    assert c.size > 100 * 24
    read = usable_rh(rh_pct.ravel()).rh_pct.reshape(rh_pct.shape)
    measured = _mean_mm(c, vapour_kpa(out_c, read))
    night = vapour_from_night_low(c.min(axis=1, keepdims=True))
    assert measured / 2 < _mean_mm(c, night.kpa) < 2 * measured
    # The dry end is dry enough to warn by.
    assert _mean_mm(c, night.low_kpa) > measured
