"""No row of the table can vanish: each is taken up by a test beside this one."""

from collections import Counter
from importlib import import_module
from pathlib import Path

from tests.published import physics
from tests.published.rows import CLAIMED, table

ROWS_BY_MODEL = {
    "Botta et al. 2000 leaf onset threshold": 4,
    "Cannell & Smith 1983 required thermal time, Picea sitchensis": 7,
    "Linvill reconstruction day 15": 24,
    "Linvill reconstruction: sunrise day 15": 1,
    "Linvill reconstruction: temperature at sunset day 15": 1,
    "chill days <5 C (variant)": 1,
    "chill days <=5 C from 1 Nov": 1,
    "chill_hours_0_7.2": 25,
    "chill_hours_le_7.2": 25,
    "data handling": 10,
    "daylength": 4,
    "daylength clamp": 2,
    "daylength, sun altitude -0.83 deg": 28,
    "dynamic": 59,
    "dynamic with offset 273.15 (NOT the default; detects the wrong offset)": 36,
    "dynamic: continuous time for x to reach 1 from 0": 6,
    "dynamic: equilibrium x_s=k0/k1": 9,
    "dynamic: first whole hour in which a transfer occurs": 6,
    "dynamic: intermediate x at end": 50,
    "dynamic: k0(T)": 9,
    "dynamic: k1(T)": 9,
    "dynamic: temperature minimising continuous time to x=1": 1,
    "dynamic: transfer fraction": 10,
    "dynamic: wrong 10-min stepping (must NOT be used)": 8,
    "gdh_anderson": 34,
    "gdh_richardson": 25,
    "required thermal time a+b*exp(r*C), a=0": 33,
    "solar declination (Spencer 1971)": 6,
    (
        "sunrise 1 January, local mean solar time = 12 - E/60 - daylength/2 "
        "(E = equation of time in minutes)"
    ): 7,
    "thermal time >5 C, mean=(max+min)/2": 2,
    "utah_C_limits": 34,
    "utah_C_limits vs utah_F_limits": 6,
    "utah_F_limits": 38,
    "utah_positive_daily": 13,
    "utah_positive_hourly": 17,
}


def test_the_table_has_the_rows_it_should():
    assert Counter(row.model for row in table().values()) == ROWS_BY_MODEL
    assert len(table()) == 551


def test_every_row_is_run():
    for module in Path(__file__).parent.glob("test_*.py"):
        import_module(f"tests.published.{module.stem}")
    left_out = table().keys() - CLAIMED
    assert not left_out, f"{len(CLAIMED)} of {len(table())} rows are run"
    left_out = physics.table().keys() - physics.CLAIMED
    assert not left_out, f"{len(physics.CLAIMED)} of {len(physics.table())} are run"
