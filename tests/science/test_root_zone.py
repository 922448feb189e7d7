import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from wintering.science.pots import Pot, PotMaterial, PotShape
from wintering.science.root_ball import (
    FILM_OUTSIDE_WM2K,
    FILM_STILL_WM2K,
    Ball,
    ball_of,
    coast_h,
    plateau_h,
)
from wintering.science.root_zone import courses, root_estimate
from wintering.science.series import Hourly

TRAY = Pot(PotShape.RECTANGULAR, 42.0, 32.0, 11.0, 0.8, PotMaterial.FIRED_CLAY)
SHOHIN = Pot(PotShape.OVAL, 12.0, 9.0, 5.0, 0.5, PotMaterial.FIRED_CLAY)

temperatures = st.floats(-30.0, 30.0)
airs = st.lists(temperatures, min_size=1, max_size=60).map(
    lambda c: Hourly.measured(0, c)
)
balls = st.builds(
    Ball,
    volume_l=st.floats(0.1, 60.0),
    water=st.floats(0.0, 0.9),
    ua_wk=st.floats(0.02, 5.0),
)


def enthalpy_by_scipy(ball, air, h0):
    """The same balance integrated numerically, stopped where a phase ends."""

    def heat_in(_, h, air_c):
        if h[0] > 0:
            c = h[0] / ball.liquid_jk
        elif h[0] < -ball.latent_j:
            c = (h[0] + ball.latent_j) / ball.frozen_jk
        else:
            c = 0.0
        return [ball.ua_wk * (air_c - c)]

    def liquid_ends(_, h, air_c):
        return h[0]

    def frozen_ends(_, h, air_c):
        return h[0] + ball.latent_j

    liquid_ends.terminal = frozen_ends.terminal = True
    h, found = h0, []
    for air_c in air.c:
        at = 0.0
        while at < 3600.0:
            solved = solve_ivp(
                heat_in,
                (at, 3600.0),
                [h],
                args=(air_c,),
                events=(liquid_ends, frozen_ends),
                rtol=1e-10,
                atol=1e-6,
                max_step=600.0,
            )
            at, h = solved.t[-1], float(solved.y[0, -1])
            if solved.status == 1:
                # step off the edge, by less than the tolerance
                h += np.sign(air_c) * 1e-5
        found.append(h)
    return np.array(found)


@pytest.mark.parametrize("ball", [ball_of(TRAY, water=0.3), ball_of(SHOHIN, water=0.4)])
def test_the_exact_steps_against_a_numerical_solution(ball):
    rng = np.random.default_rng(7)
    day = 4.0 * np.sin(2 * np.pi * np.arange(240) / 24)
    waves = 6.0 * np.sin(2 * np.pi * np.arange(240) / 140)
    air = Hourly.measured(0, day + waves + rng.normal(0, 1.0, 240))
    by_scipy = enthalpy_by_scipy(ball, air, ball.liquid_jk * 5.0)
    found = courses(air, [ball], start_c=5.0)
    starts = np.append(ball.liquid_jk * 5.0, by_scipy[:-1])
    means = air.c - (by_scipy - starts) / (ball.ua_wk * 3600)
    assert found.c[:, 0] == pytest.approx(means, abs=1e-5)
    ice = np.clip(-by_scipy / ball.latent_j, 0.0, 1.0)
    assert found.ice_high[:, 0] == pytest.approx(ice, abs=1e-7)
    # the series runs through all three phases
    assert ice.max() > 0.2
    assert found.plateau_h(0) > 10


@given(airs, balls, temperatures)
def test_heat_through_the_wall_is_the_change_of_enthalpy(air, ball, start_c):
    found = courses(air, [ball], start_c=start_c)
    came_in = ball.ua_wk * 3600 * (air.c - found.c[:, 0])
    frozen = 1.0 if start_c < 0 else 0.0
    heat = ball.liquid_jk if start_c > 0 else ball.frozen_jk
    h = heat * start_c - ball.latent_j * frozen + np.cumsum(came_in)
    # the same enthalpy gives the share of ice that the course reports
    ice = np.clip(-h / ball.latent_j, 0.0, 1.0) if ball.latent_j > 1.0 else None
    if ice is not None:
        assert found.ice_low[:, 0] == pytest.approx(ice, abs=1e-6)
    scale = ball.latent_j + 30.0 * (ball.liquid_jk + ball.frozen_jk)
    lowest = ball.frozen_jk * min(air.c.min(), start_c, 0.0) - ball.latent_j
    highest = ball.liquid_jk * max(air.c.max(), start_c, 0.0)
    assert h.min() >= lowest - 1e-9 * scale
    assert h.max() <= highest + 1e-9 * scale


def test_the_balance_closes_to_the_last_digits_over_a_freeze_and_a_thaw():
    ball = ball_of(TRAY, water=0.3)
    cold, warm = -8.0, 6.0
    air = Hourly.measured(0, [cold] * 400 + [warm] * 900)
    found = courses(air, [ball], start_c=4.0)
    came_in = (ball.ua_wk * 3600 * (air.c - found.c[:, 0])).cumsum()
    # frozen through and as cold as the air, then liquid and as warm
    cooled = -ball.liquid_jk * 4.0 - ball.latent_j + ball.frozen_jk * cold
    assert came_in[399] == pytest.approx(cooled, rel=1e-9)
    assert came_in[-1] == pytest.approx(ball.liquid_jk * (warm - 4.0), rel=1e-9)


@given(airs, balls, temperatures, st.floats(0.0, 10.0))
def test_warmer_air_never_gives_a_colder_root_zone(air, ball, start_c, warmer_k):
    cooler = courses(air, [ball], start_c=start_c)
    warmer = courses(
        Hourly.measured(0, air.c + warmer_k), [ball], start_c=start_c + warmer_k
    )
    assert (warmer.low_c >= cooler.low_c - 1e-7).all()
    assert (warmer.ice_high <= cooler.ice_high + 1e-9).all()


@given(airs, balls, st.floats(0.0, 1.0))
def test_a_wetter_ball_never_falls_through_zero_sooner(air, ball, share):
    drier = Ball(ball.volume_l, ball.water * share, ball.ua_wk)
    found = courses(air, [drier, ball], start_c=5.0)
    below = found.c < -1e-6
    first = [
        int(np.argmax(below[:, n])) if below[:, n].any() else air.c.size for n in (0, 1)
    ]
    assert first[1] >= first[0]


@pytest.mark.parametrize("pot", [TRAY, SHOHIN])
def test_the_same_holds_for_a_pot_though_wet_mix_conducts_better(pot):
    hours = [
        coast_h(ball_of(pot, water=share), from_c=5.0, air_c=-6.0, limit_c=-0.5)
        for share in np.linspace(0.0, 0.6, 13)
    ]
    assert hours == sorted(hours)


@given(airs, balls, temperatures)
def test_the_root_zone_stays_within_the_extremes_of_the_air(air, ball, start_c):
    found = courses(air, [ball], start_c=start_c)
    assert found.low_c.min() >= min(air.c.min(), start_c) - 1e-6
    assert found.high_c.max() <= max(air.c.max(), start_c) + 1e-6


@given(airs, balls)
def test_ice_and_water_are_together_only_at_zero(air, ball):
    found = courses(air, [ball], start_c=3.0)
    before = np.append(0.0, found.ice_low[:-1, 0])
    mixed = (before > 1e-6) & (found.ice_low[:, 0] > 1e-6)
    mixed &= (before < 1 - 1e-6) & (found.ice_low[:, 0] < 1 - 1e-6)
    assert found.c[mixed, 0] == pytest.approx(0.0, abs=1e-6)


@given(airs, balls, st.integers(0, 40))
def test_a_course_cut_in_two_is_the_course(air, ball, cut):
    whole = courses(air, [ball, ball], start_c=2.0)
    alone = courses(air.window(0, min(cut, air.c.size)), [ball], start_c=2.0)
    assert whole.c[:cut, :1] == pytest.approx(alone.c, nan_ok=True)
    assert whole.c[:, 0] == pytest.approx(whole.c[:, 1])


def test_a_dry_ball_has_no_halt():
    ball = Ball(volume_l=2.0, water=0.0, ua_wk=0.5)
    air = Hourly.measured(0, [-10.0] * 6)
    hours = np.arange(1, 7)
    then = -10.0 + 14.0 * np.exp(-hours / ball.time_constant_h)
    found = courses(air, [ball], start_c=4.0)
    mean = np.append(4.0, then[:-1]) - then
    assert found.c[:, 0] == pytest.approx(-10.0 + mean * ball.time_constant_h)
    assert plateau_h(ball, air_c=-10.0) == 0.0
    assert not found.ice_high.any()


def test_nothing_moves_in_air_at_zero():
    ball = ball_of(SHOHIN, water=0.4)
    found = courses(Hourly.measured(0, [-4.0] * 3 + [0.0] * 50), [ball], start_c=0.0)
    assert 0.0 < found.ice_low[2, 0] < 1.0
    assert (found.ice_low[2:, 0] == found.ice_low[2, 0]).all()
    assert found.plateau_h(0) == 53
    assert plateau_h(ball, air_c=0.0) == float("inf")


def test_a_record_begins_unknown_until_the_past_no_longer_matters():
    ball = ball_of(SHOHIN, water=0.4)
    found = courses(Hourly.measured(0, [8.0] * 120), [ball])
    known = ~np.isnan(found.c[:, 0])
    assert not known[:5].any()
    assert known[-1]
    assert np.diff(known.astype(int)).sum() == 1
    assert found.c[known, 0] == pytest.approx(8.0, abs=0.6)


def test_a_frozen_past_matters_longer_than_five_time_constants():
    ball = ball_of(TRAY, water=0.4)
    found = courses(Hourly.measured(0, [1.0] * 400), [ball])
    first = int(np.argmax(~np.isnan(found.c[:, 0])))
    assert first > 5 * ball.time_constant_h


def test_missing_hours_hide_the_root_zone_no_longer_than_needed():
    ball = ball_of(TRAY, water=0.3)
    air = 4.0 + 2.0 * np.sin(2 * np.pi * np.arange(500) / 24)
    air[200:206] = np.nan
    found = courses(Hourly.measured(0, air), [ball], start_c=4.0)
    whole = courses(Hourly.measured(0, np.nan_to_num(air, nan=4.0)), [ball], start_c=4)
    unknown = np.isnan(found.c[:, 0])
    assert not unknown[:200].any()
    assert unknown[203:206].all()
    assert not unknown[400:].any()
    between = (found.low_c <= whole.c + 1e-9) & (whole.c <= found.high_c + 1e-9)
    assert between.all()


def test_a_missing_hour_may_have_been_anything_from_a_hard_frost_to_a_hot_noon():
    ball = ball_of(SHOHIN, water=0.1)
    found = courses(Hourly.measured(0, [np.nan] * 500), [ball], start_c=5.0)
    ends = (found.low_c[-1, 0], found.high_c[-1, 0])
    assert ends == pytest.approx((-15.0, 25.0), abs=1e-3)
    # or as the extremes of the record, where those are wider
    air = Hourly.measured(0, [-22.0, 31.0] + [np.nan] * 500)
    found = courses(air, [ball])
    ends = (found.low_c[-1, 0], found.high_c[-1, 0])
    assert ends == pytest.approx((-22.0, 31.0), abs=1e-3)


def test_an_empty_record_gives_an_empty_course():
    found = courses(Hourly.measured(0, []), [ball_of(TRAY, water=0.3)])
    assert found.c.shape == (0, 1)
    assert found.plateau_h(0) == 0


@given(
    st.floats(0.02, 0.8), st.floats(0.0, 12.0), st.floats(-20.0, -0.5), st.floats(0, 1)
)
def test_coasting_agrees_with_the_course(water, from_c, air_c, share):
    ball = ball_of(SHOHIN, water=water)
    limit_c = from_c + share * 0.98 * (air_c - from_c)
    hours = coast_h(ball, from_c=from_c, air_c=air_c, limit_c=limit_c)
    whole = min(int(hours) + 2, 4000)
    found = courses(Hourly.measured(0, [air_c] * whole), [ball], start_c=from_c)
    # hourly means straddle the moment at which the limit is passed
    assert found.c[int(hours) + 1 :, 0].max(initial=-99) <= limit_c + 1e-6
    if int(hours) > 0:
        assert found.c[int(hours) - 1, 0] >= limit_c - 1e-6


def test_coasting_knows_its_ends():
    ball = ball_of(TRAY, water=0.3)
    assert coast_h(ball, from_c=-3.0, air_c=-9.0, limit_c=-2.0) == 0.0
    assert coast_h(ball, from_c=3.0, air_c=-2.0, limit_c=-2.0) == float("inf")
    whole = coast_h(ball, from_c=0.0, air_c=-5.0, limit_c=-1.0)
    half = coast_h(ball, from_c=0.0, air_c=-5.0, limit_c=-1.0, ice=0.5)
    assert whole - half == pytest.approx(plateau_h(ball, air_c=-5.0) / 2)


def test_what_slows_heat_down_slows_the_pot_down():
    bare = ball_of(TRAY, water=0.3)
    slower = [
        ball_of(TRAY, water=0.3, film_wm2k=FILM_STILL_WM2K[0]),
        ball_of(TRAY, water=0.3, wall_exposed=0.3),
        ball_of(TRAY, water=0.3, floor_exposed=0.0),
        ball_of(TRAY, water=0.3, mulch_cm=3.0),
    ]
    assert all(ball.ua_wk < bare.ua_wk for ball in slower)
    assert ball_of(TRAY, water=0.3, film_wm2k=FILM_OUTSIDE_WM2K[1]).ua_wk > bare.ua_wk


def test_mulch_insulates_as_bark_in_the_handbook_table():
    # bark conducts 0.074 W/(m K) at 25 °C, so 5 cm resist by 0.676 m² K/W
    bare, mulched = (
        ball_of(TRAY, water=0.3, wall_exposed=0.0, floor_exposed=0.0, mulch_cm=cm)
        for cm in (0.0, 5.0)
    )
    added = (1.0 / mulched.ua_wk - 1.0 / bare.ua_wk) * TRAY.top_m2
    assert added == pytest.approx(0.676, abs=1e-3)


def test_wood_holds_heat_longer_than_clay_and_plastic():
    constants = {
        material: ball_of(
            Pot(PotShape.ROUND, 30.0, 30.0, 25.0, wall_cm, material), water=0.3
        ).time_constant_h
        for material, wall_cm in (
            (PotMaterial.WOOD, 2.0),
            (PotMaterial.FIRED_CLAY, 0.8),
            (PotMaterial.PLASTIC, 0.2),
        )
    }
    assert max(constants, key=constants.get) is PotMaterial.WOOD


def test_big_pots_are_colder_at_the_wall_than_on_the_whole():
    small, big = (
        ball_of(
            Pot(PotShape.ROUND, size, size, size, 0.8, PotMaterial.FIRED_CLAY),
            water=0.3,
        )
        for size in (8.0, 50.0)
    )
    assert 0.1 < small.biot < big.biot
    assert small.edge_share < big.edge_share < 1.0
    assert big.biot == pytest.approx(3 * big.edge_share / (1 - big.edge_share))
    wall_c = big.at_wall_c(np.array([0.0]), np.array([-8.0]))
    assert -8.0 < wall_c[0] < 0.0
    assert big.with_wall_at_c(float(wall_c[0]), air_c=-8.0) == pytest.approx(0.0)


def test_an_estimate_spans_from_dry_to_wet():
    air = Hourly.measured(100, [3.0] * 300 + [-6.0] * 100)
    found = root_estimate(air, TRAY, water=(0.1, 0.4))
    assert found.low.first_hour == 100
    known = ~np.isnan(found.low.c)
    assert (found.low.c[known] <= found.high.c[known]).all()
    dry, middle, wet = (ball.latent_j for ball in found.balls)
    assert dry < middle < wet
    least, most = found.coast_h(from_c=(3.0, 3.0), air_c=-6.0, limit_c=-2.0)
    assert 0 < least < most / 3


def test_an_estimate_tells_the_rim_where_it_is_colder_than_the_ball():
    air = Hourly.measured(0, [3.0] * 300 + [-6.0] * 30 + [9.0] * 3)
    found = root_estimate(air, TRAY, water=(0.1, 0.4))
    cold, warm = slice(303, 318), slice(331, 333)
    assert (found.rim.c[cold] < found.low.c[cold]).all()
    assert (found.rim.c[cold] > -6.0).all()
    assert (found.rim.c[warm] == found.low.c[warm]).all()


def test_the_rim_comes_to_a_limit_before_the_ball_does():
    found = root_estimate(Hourly.measured(0, [3.0] * 300), TRAY)
    to_limit = {"air_c": -6.0, "limit_c": -2.0}
    least, most = found.coast_h(from_c=(3.0, 3.0), **to_limit)
    by_ball = [coast_h(ball, from_c=3.0, **to_limit) for ball in found.balls]
    assert 0 < least < min(by_ball)
    assert most == max(by_ball)
    for ball in found.balls:
        mean_c = ball.with_wall_at_c(-2.0, air_c=-6.0)
        assert coast_h(ball, from_c=3.0, air_c=-6.0, limit_c=mean_c) >= least


@pytest.mark.parametrize("wrong", [{"wall_exposed": 1.2}, {"mulch_cm": -1.0}])
def test_impossible_shares_are_refused(wrong):
    with pytest.raises(ValueError, match="from 0 to 1"):
        ball_of(TRAY, water=0.3, **wrong)


def test_a_water_content_in_percent_is_refused():
    with pytest.raises(ValueError, match="from 0"):
        ball_of(TRAY, water=35.0)


def test_a_ball_without_volume_is_refused():
    with pytest.raises(ValueError, match="has a volume"):
        Ball(0.0, 0.3, 1.0)
