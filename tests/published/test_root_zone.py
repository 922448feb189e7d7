"""Freezing of root balls against figures worked out elsewhere."""

import numpy as np
import pytest

from tests.published.physics import row
from wintering.science.pots import Pot, PotMaterial, PotShape
from wintering.science.root_ball import Ball, ball_of, coast_h, plateau_h
from wintering.science.root_zone import courses
from wintering.science.series import Hourly

W09 = row("W09")
W10 = row("W10")

POT = Ball(volume_l=10.0, water=0.40, ua_wk=0.6)


def test_heat_of_freezing_in_ten_litres():
    W09.check(POT.latent_j / 1e6)


def test_hours_of_the_halt_at_zero():
    W10.check(plateau_h(POT, air_c=-5.0))


def test_the_course_stands_still_for_as_many_hours():
    found = courses(Hourly.measured(0, [-5.0] * 200), [POT], start_c=0.0)
    assert found.plateau_h(0) == int(plateau_h(POT, air_c=-5.0))


@pytest.mark.parametrize(
    ("volume_l", "area_m2", "kj", "hours"), [(5.0, 0.25, 585, 16), (0.4, 0.04, 47, 8)]
)
def test_a_worked_example_of_the_trade(volume_l, area_m2, kj, hours):
    # 35 % water, 8 W/(m² K), 5 K below zero: a 5 L ball holds about 585 kJ and lasts
    # about 16 h at 10 W, a 0.4 L one about 8 h; from memory
    ball = Ball(volume_l, water=0.35, ua_wk=8.0 * area_m2)
    assert ball.latent_j / 1e3 == pytest.approx(kj, abs=0.5)
    assert plateau_h(ball, air_c=-5.0) == pytest.approx(hours, abs=0.5)
    assert coast_h(ball, from_c=0.0, air_c=-5.0, limit_c=-1e-9) == pytest.approx(
        plateau_h(ball, air_c=-5.0), abs=1e-6
    )


def test_a_sudden_change_of_the_air_arrives_as_the_textbook_says():
    # the first-order step response: 63.2, 86.5, 95.0 and 98.2 % after one to four time
    # constants
    ball = Ball(volume_l=20.0, water=0.3, ua_wk=1.2)
    for constants, arrived in ((1, 0.632), (2, 0.865), (3, 0.950), (4, 0.982)):
        hours = coast_h(ball, from_c=10.0, air_c=0.0, limit_c=10.0 * (1 - arrived))
        assert hours / ball.time_constant_h == pytest.approx(constants, abs=0.02)


def test_a_container_follows_the_night_by_two_or_three():
    # A raised planter's mix matches the air by 2 or 3 in the morning, sooner in a small
    # or dry pot: F. Gouin, extension column, 2006. Said of cold nights outdoors. A dry
    # 3 L pot in an evening fall from 8 to -2 °C must come within 2 K by then.
    pot = Pot(PotShape.ROUND, 18.0, 18.0, 14.0, 0.2, PotMaterial.PLASTIC)
    ball = ball_of(pot, water=0.1, film_wm2k=16.7)
    evening = np.linspace(8.0, -2.0, 6)  # 15:00 to 20:00
    air = Hourly.measured(0, np.append(evening, [-2.0] * 7))  # to 03:00
    found = courses(air, [ball], start_c=8.0)
    assert abs(found.c[-1, 0] - air.c[-1]) <= 2.0
