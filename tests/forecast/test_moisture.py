"""Grey mould and drying out, from readings of humidity to standing flags."""

from datetime import date, timedelta

import numpy as np
import pytest

from tests import make
from tests.forecast.conftest import AT, HOURS, START, cold_taxon
from wintering.climate.models import Sensor
from wintering.forecast.models import Flag
from wintering.forecast.queries.air_moisture import airs_of, rh_pct
from wintering.forecast.services import judge_frame
from wintering.frames.models import Frame
from wintering.people.queries import events_about
from wintering.science.vapour import vapour_kpa

pytestmark = pytest.mark.django_db

DRY = 70.0


@pytest.fixture
def humid(logged):
    """The bench's air, roots and humidity, logged hourly up to noon of 20 January."""

    def log(rh=DRY, *, silent_h=0, **others):
        bench = logged(**others)
        bench.humidity = make.sensor(
            name="H1",
            microclimate=bench.air.microclimate,
            place=Sensor.Place.AIR,
            quantity=Sensor.Quantity.HUMIDITY,
            unit=Sensor.Unit.PERCENT,
        )
        heard = np.broadcast_to(rh, (HOURS,))[: HOURS - silent_h]
        make.hours(bench.humidity, START, heard)
        return bench

    return log


def wet_for(hours, rh=96.0):
    """Dry until so many hours ago, wet since."""
    c = np.full(HOURS, DRY)
    c[-hours:] = rh
    return c


def judged(frame, kind, at=AT):
    return [flag for flag in judge_frame(frame=frame, at=at) if flag.kind == kind]


def told(flag, start):
    return next(part for part in flag.evidence if part["text"].startswith(start))


class TestGreyMould:
    # At 3 °C an index of 1 takes 1/(1/52 + 0.00791 * 3) = 23.3 wet hours.
    @pytest.mark.parametrize(
        ("hours", "level"), [(23, None), (24, "watch"), (46, "watch"), (47, "week")]
    )
    def test_wet_hours_at_3_degrees_make_watch_after_a_day(
        self, humid, stood, hours, level
    ):
        bench = humid(wet_for(hours))
        stood()
        flags = judged(bench.frame, "grey_mould")
        assert [flag.level for flag in flags] == ([level] if level else [])

    def test_it_is_about_the_humidity_sensor_and_is_no_diagnosis(self, humid, stood):
        bench = humid(wet_for(40))
        stood()
        [flag] = judged(bench.frame, "grey_mould")
        assert (flag.sensor, flag.tree) == (bench.humidity, None)
        assert flag.get_kind_display() == "conditions favour grey mould"
        assert "no diagnosis" in flag.advice
        assert "dew point outside lies more than 1 K below" in flag.advice
        assert "spray" not in flag.advice
        # The 24th wet hour was the first with an index of 1.
        assert flag.since == AT - timedelta(hours=40 - 23)

    def test_the_evidence_tells_index_hours_threshold_and_sources(self, humid, stood):
        bench = humid(wet_for(40))
        stood()
        [flag] = judged(bench.frame, "grey_mould")
        index = told(flag, f"Index of wetness at {bench.air.microclimate.name}")
        assert index["value"] == "1.7"  # 40 of 23.3
        assert "Petaistö 2006" in index["source"]
        wet = told(flag, "Wet and frost-free hours since Saturday 18 January 20:00")
        assert (wet["value"], wet["unit"]) == (40, "h")
        assert wet["source"] == "H1, relative humidity; A1, air"
        rule = told(flag, "The least humidity of a wet hour")
        assert (rule["value"], rule["unit"]) == (90.0, "%")
        assert "false alarms up to 31 %" in rule["source"]
        assert all(part["source"] for part in flag.evidence)

    def test_frozen_hours_neither_add_nor_end_the_wet_spell(self, humid, stood):
        air = np.full(HOURS, 3.0)
        air[-30:-10] = -2.0
        rh = wet_for(45)
        rh[-30:-20] = DRY
        bench = humid(rh, air=air)
        stood()
        [flag] = judged(bench.frame, "grey_mould")
        wet = told(flag, "Wet and frost-free hours")
        assert (wet["value"], flag.evidence[0]["value"]) == (25, "1.1")

    def test_four_dry_hours_clear_it(self, humid, stood):
        bench = humid(wet_for(40))
        stood()
        judge_frame(frame=bench.frame, at=AT)
        for sensor, value in ((bench.air, 3), (bench.root, 2), (bench.humidity, 60)):
            make.hours(sensor, AT, [value] * 4)
        soon, later = AT + timedelta(hours=3), AT + timedelta(hours=4)
        assert judged(bench.frame, "grey_mould", soon)
        assert not judged(bench.frame, "grey_mould", later)
        assert Flag.objects.get(kind="grey_mould").cleared_at == later
        verbs = [event.verb for event in events_about(bench.humidity)]
        assert sorted(verbs) == ["was cleared of", "was flagged"]

    def test_no_readings_are_no_good_news(self, humid, stood):
        bench = humid(wet_for(40))
        stood()
        judge_frame(frame=bench.frame, at=AT)
        assert judged(bench.frame, "grey_mould", AT + timedelta(days=3))

    def test_a_sensor_put_away_a_month_ago_keeps_no_flag(self, humid, stood):
        bench = humid(wet_for(40))
        stood()
        judge_frame(frame=bench.frame, at=AT)
        assert not judged(bench.frame, "grey_mould", AT + timedelta(days=31))

    def test_where_missing_hours_decide_none_is_raised(self, humid, stood):
        bench = humid(wet_for(30), silent_h=8)
        stood()
        assert not judged(bench.frame, "grey_mould")

    def test_what_is_certain_in_spite_of_missing_hours_is_raised(self, humid, stood):
        # 44 hours make 1.9, and 47 would make 2.0: to act is not certain, to watch is.
        bench = humid(wet_for(47), silent_h=3)
        stood()
        [flag] = judged(bench.frame, "grey_mould")
        assert flag.level == "watch"
        assert flag.evidence[0]["value"] == "1.9 to 2.0"

    def test_missing_hours_are_reckoned_both_ways(self, humid, stood):
        bench = humid(wet_for(60))
        # Of the 19th only the hours from 3 to midnight are left.
        bench.humidity.days.get(day=date(2025, 1, 19)).delete()
        make.hours(bench.humidity, AT - timedelta(hours=33), [96.0] * 21)
        stood()
        [flag] = judged(bench.frame, "grey_mould")
        index = told(flag, "Index of wetness")
        low, high = map(float, index["value"].split(" to "))
        assert high == pytest.approx(60 / 23.3, abs=0.06)
        assert low < high
        assert told(flag, "Hours without a reading")["value"] == 3

    def test_a_colder_part_without_a_sensor_is_wet_sooner(self, humid, stood):
        bench = humid(wet_for(40, rh=88.0))
        sill = make.microclimate(
            frame=bench.frame,
            name="sill",
            follows=bench.air.microclimate,
            offset_k=-1.5,
        )
        stood()
        assert not judged(bench.frame, "grey_mould")
        there = make.bench(microclimate=sill)
        make.placement(tree=make.tree(), modules=[there.modules.first()])
        [flag] = judged(bench.frame, "grey_mould")
        assert flag.sensor == bench.humidity
        index = told(flag, "Index of wetness at sill")
        assert float(index["value"]) == pytest.approx(
            40 * (1 / 52 + 0.00791 * 1.5), abs=0.06
        )
        assert told(flag, "Humidity at sill is reckoned from the vapour")

    def test_the_worst_part_comes_first_and_others_beside_it(self, humid, stood):
        # As wet by the rule, and a little warmer: 30 hours make 1.4 there, 1.3 here.
        bench = humid(wet_for(30))
        here = bench.air.microclimate
        shelf = make.microclimate(
            frame=bench.frame, name="shelf", follows=here, offset_k=0.3
        )
        stood()
        there = make.bench(microclimate=shelf)
        make.placement(tree=make.tree(), modules=[there.modules.first()])
        [flag] = judged(bench.frame, "grey_mould")
        assert flag.evidence[0]["text"].startswith("Index of wetness at shelf")
        assert flag.evidence[0]["value"] == "1.4"
        assert told(flag, f"Index of wetness at {here.name}")["value"] == "1.3"

    def test_air_that_is_colder_than_its_dew_point_is_full(self):
        kpa = vapour_kpa(np.array([3.0, 3.0]), np.array([100.0, 50.0]))
        assert rh_pct(np.array([0.0, 3.0]), kpa) == pytest.approx([100, 50])

    def test_cypresses_halve_the_bar_for_their_part(self, humid, stood):
        bench = humid(wet_for(13))
        stood()
        assert not judged(bench.frame, "grey_mould")
        hinoki = make.taxon("Chamaecyparis obtusa", is_evergreen=True)
        tree = stood(taxon=hinoki)
        [flag] = judged(bench.frame, "grey_mould")
        assert flag.level == "watch"
        assert told(flag, f"The bar is halved for {tree.number}")
        assert "watch from 0.5, act from 1" in flag.evidence[0]["text"]

    def test_a_sensor_that_reads_too_wet_for_a_day_is_doubted(self, humid, stood):
        bench = humid(wet_for(30, rh=103.0))
        stood()
        [flag] = judged(bench.frame, "grey_mould")
        assert told(flag, "The humidity sensor read above 100 % for 30 hours")

    def test_where_no_tree_stands_nothing_is_raised(self, humid):
        bench = humid(wet_for(60))
        assert not judged(bench.frame, "grey_mould")

    def test_humidity_without_air_temperature_says_nothing(self, humid, stood):
        bench = humid(wet_for(60))
        stood()
        bench.air.delete()
        assert not judged(bench.frame, "grey_mould")
        assert airs_of([bench.humidity.microclimate_id], AT) == {}


def evergreen(**facts):
    taxon = cold_taxon(**facts)
    taxon.is_evergreen = True
    taxon.save()
    return taxon


# Over water at 3 °C saturation is 0.758 kPa: at 40 % the air lacks 0.455 kPa, in an
# hour 0.455 kPa h; at 70 % half of that.
class TestDryingOut:
    def test_a_frozen_ball_in_dry_air_is_flagged_for_the_week(self, humid, stood):
        bench = humid(40.0, root=-0.5)
        tree = stood(taxon=evergreen())
        [flag] = judged(bench.frame, "drying_out")
        assert (flag.tree, flag.level) == (tree, "week")
        assert "no warm water" in flag.advice
        # Twelve hours of today and all of the four days before.
        assert flag.since.date() == AT.date()
        dose = told(flag, "Drying dose of 20 January 2025 (flagged from 5)")
        assert float(dose["value"]) == pytest.approx(12 * 0.455, abs=0.06)
        assert dose["unit"] == "kPa h"
        assert "own choice" in dose["source"]
        five = told(flag, "Drying dose of five days up to")
        assert float(five["value"]) == pytest.approx(108 * 0.455, abs=0.2)
        frozen = told(flag, "Hours of those five days with the root ball")
        assert (frozen["value"], frozen["source"]) == (108, "R1, root zone")
        assert told(flag, "Sun on the leaves is left out")

    @pytest.mark.parametrize(("ball", "is_flagged"), [(1.0, True), (2.1, False)])
    def test_a_cold_ball_gives_a_little_and_a_thawed_one_all(
        self, humid, stood, ball, is_flagged
    ):
        # 0.3 of 0.68 kPa h in an hour: 4.9 a day, and so 24 in five.
        bench = humid(10.0, root=ball)
        stood(taxon=evergreen())
        assert bool(judged(bench.frame, "drying_out")) is is_flagged

    def test_moist_air_dries_nothing(self, humid, stood):
        bench = humid(95.0, root=-0.5)
        stood(taxon=evergreen())
        assert not judged(bench.frame, "drying_out")

    def test_bare_trees_bear_three_times_as_much(self, humid, stood):
        # 0.227 kPa h in an hour: 5.5 a day, 24.6 in four and a half days.
        bench = humid(70.0, root=-0.5)
        bare = cold_taxon()
        bare.is_evergreen = False
        bare.save()
        stood(taxon=bare)
        green = stood(taxon=evergreen())
        assert [flag.tree for flag in judged(bench.frame, "drying_out")] == [green]

    def test_one_of_which_nobody_knows_counts_as_evergreen_and_says_so(
        self, humid, stood
    ):
        bench = humid(70.0, root=-0.5)
        stood()
        [flag] = judged(bench.frame, "drying_out")
        assert told(flag, "Whether it keeps its leaves is not known")

    def test_sun_on_the_leaves_gives_a_range_where_the_place_on_earth_is_told(
        self, humid, stood
    ):
        # In shade 0.038 kPa h an hour; 5 K warmer leaves lack 0.31 more by day.
        bench = humid(95.0, root=-0.5)
        stood(taxon=evergreen())
        Frame.objects.update(latitude_deg=45.0, longitude_deg=0.0)
        [flag] = judged(bench.frame, "drying_out")
        assert flag.level == "watch"
        dose = told(flag, "Drying dose of five days up to 19 January")
        low, high = map(float, dose["value"].split(" to "))
        assert low == pytest.approx(120 * 0.038, abs=0.1)
        # Seven hours a day the sun stands above 10°.
        assert high - low == pytest.approx(5 * 7 * 0.314, abs=0.2)
        assert told(flag, "Sun on the leaves was not measured")

    def test_no_humidity_sensor_no_flag(self, logged, stood):
        bench = logged(root=-0.5)
        stood(taxon=evergreen())
        assert not judged(bench.frame, "drying_out")

    def test_it_clears_two_days_after_the_ball_has_thawed(self, humid, stood):
        bench = humid(40.0, root=-0.5)
        tree = stood(taxon=evergreen())
        judge_frame(frame=bench.frame, at=AT)
        for sensor, value in ((bench.air, 3), (bench.root, 3), (bench.humidity, 60)):
            make.hours(sensor, AT, [value] * 24 * 6)
        assert judged(bench.frame, "drying_out", AT + timedelta(days=1))
        later = AT + timedelta(days=6)
        assert not judged(bench.frame, "drying_out", later)
        assert Flag.objects.get(tree=tree, kind="drying_out").cleared_at == later

    @pytest.mark.parametrize(("rh", "stands"), [(85.0, True), (88.0, False)])
    def test_it_stands_on_until_a_fifth_below_the_limits(
        self, humid, stood, rh, stands
    ):
        # 13.6 kPa h in the five days up to yesterday at 85 %, 10.9 at 88: 12 is near.
        bench = humid(40.0, root=-0.5)
        stood(taxon=evergreen())
        judge_frame(frame=bench.frame, at=AT)
        for sensor, value in ((bench.air, 3), (bench.root, -0.5), (bench.humidity, rh)):
            make.hours(sensor, AT, [value] * 24 * 7)
        later = judged(bench.frame, "drying_out", AT + timedelta(days=7))
        assert bool(later) is stands
        fresh = make.tree(taxon=evergreen(), root_work_on=date(2022, 4, 1))
        free = bench.bench.modules.filter(held=None).first()
        make.placement(tree=fresh, modules=[free], since=date(2024, 10, 1))
        now = judged(bench.frame, "drying_out", AT + timedelta(days=7))
        assert fresh not in {flag.tree for flag in now}

    def test_missing_humidity_is_no_good_news_while_the_ball_is_cold(
        self, humid, stood
    ):
        bench = humid(40.0, root=-0.5)
        stood(taxon=evergreen())
        judge_frame(frame=bench.frame, at=AT)
        for sensor, value in ((bench.air, 3), (bench.root, -0.5)):
            make.hours(sensor, AT, [value] * 24 * 8)
        assert judged(bench.frame, "drying_out", AT + timedelta(days=8))

    def test_a_dose_with_missing_hours_says_that_it_may_be_more(self, humid, stood):
        bench = humid(10.0, root=-0.5, silent_h=4)
        stood(taxon=evergreen())
        [flag] = judged(bench.frame, "drying_out")
        missing = told(flag, "Hours without a reading")
        assert missing["value"] == 4
        assert "may be higher" in missing["source"]

    def test_a_tree_that_moved_carries_its_dose_along(self, humid, stood):
        bench = humid(40.0, root=-0.5)
        tree = stood(taxon=evergreen())
        old = tree.placements.get()
        old.until = AT.date()
        old.save()
        old.held.update(until=AT.date())
        moist = make.microclimate(frame=bench.frame)
        for name, quantity, unit, value in (
            ("A2", "temperature", "c", 3.0),
            ("H2", "humidity", "pct", 99.0),
        ):
            sensor = make.sensor(
                name=name,
                microclimate=moist,
                place=Sensor.Place.AIR,
                quantity=quantity,
                unit=unit,
            )
            make.hours(sensor, START, [value] * HOURS)
        root = make.sensor(name="R2", microclimate=moist)
        make.hours(root, START, [-0.5] * HOURS)
        there = make.bench(microclimate=moist).modules.first()
        make.placement(tree=tree, modules=[there], since=AT.date())
        [flag] = judged(bench.frame, "drying_out")
        five = told(flag, "Drying dose of five days up to")
        assert float(five["value"]) == pytest.approx(96 * 0.455 + 12 * 0.008, abs=0.2)
        assert "H1" in told(flag, "What the air lacks")["source"]
        assert "H2" in told(flag, "What the air lacks")["source"]


def test_more_trees_take_no_more_statements(
    humid, stood, django_assert_max_num_queries, django_assert_num_queries
):
    bench = humid(wet_for(40))
    taxon = evergreen()
    stood(taxon=taxon)
    judge_frame(frame=bench.frame, at=AT)
    with django_assert_max_num_queries(45) as one:
        judge_frame(frame=bench.frame, at=AT)
    for _ in range(8):
        stood(taxon=taxon)
    with django_assert_num_queries(len(one)):
        judge_frame(frame=bench.frame, at=AT)
