"""When a pot is likely to want water, from what was found and the air at its place."""

from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from django.db import connection
from django.template.loader import render_to_string
from django.test.utils import CaptureQueriesContext

from tests import make
from wintering.care.models import Observation
from wintering.care.queries import water_of, watering_due
from wintering.care.queries.demand import air_demand
from wintering.care.queries.potted import habit_of, is_unglazed
from wintering.care.services import Seen, record_check, record_round
from wintering.climate.models import Sensor
from wintering.forecast.queries import tree_outlook
from wintering.frames.models import Frame
from wintering.science.potted_tree import Habit
from wintering.stays.queries import places_of
from wintering.trees.services import pot_up, see_buds

pytestmark = pytest.mark.django_db

START = datetime(2024, 10, 1, tzinfo=UTC)
AT = datetime(2025, 1, 20, 12, tzinfo=UTC)
TODAY = AT.date()
HOURS = int((AT - START).total_seconds() // 3600)
WATERED = datetime(2025, 1, 6, 9, tzinfo=UTC)
SUBSTRATE = "akadama, pumice and lava 2:1:1"
DRY, MOIST = Observation.Moisture.DRY, Observation.Moisture.MOIST


def air_c():
    """A frame a little above freezing, 4 K warmer by day."""
    return 4.0 - 4.0 * np.cos(2 * np.pi * (np.arange(HOURS) % 24 - 2) / 24)


@pytest.fixture
def part():
    bench = make.bench()
    return bench.modules.first().microclimate


@pytest.fixture
def logged(part):
    sensor = make.sensor(name="A1", microclimate=part, place=Sensor.Place.AIR)
    make.hours(sensor, START, air_c())
    return part


@pytest.fixture
def by():
    return make.keeper()


@pytest.fixture
def stood(logged):
    """A tree in a described pot, on a free place of the logged part."""

    def stand(*, habit="deciduous broadleaf", pot=None, **fields):
        taxon = make.taxon(habit=habit, is_evergreen=habit.startswith("evergreen"))
        make.fact("dormancy_class", "needs cold dormancy", taxon=taxon)
        size = {"substrate": SUBSTRATE, "material": "glazed", "since": START.date()}
        tree = make.tree(taxon=taxon, pot={**size, **(pot or {})}, **fields)
        bench = logged.modules.first().bench
        free = bench.modules.filter(held=None).first()
        make.placement(tree=tree, modules=[free], since=START.date())
        return tree

    return stand


@pytest.fixture
def check(by):
    """What was found on a day, through the service."""

    def found(tree, day, moisture, *, was_watered=False):
        at = datetime(2025, 1, day, 9, tzinfo=UTC)
        seen = Seen(tree, moisture, was_watered)
        return record_check(seen=seen, at=at, by=by)

    return found


def water(tree, at=AT):
    return water_of(tree_outlook(tree, at), tree.pots.filter(until=None).first())


def test_the_range_the_day_to_look_and_what_they_rest_on_are_told(stood, check):
    tree = stood()
    check(tree, 6, DRY, was_watered=True)
    told = water(tree)
    assert told.reason == ""
    assert WATERED.date() < told.check_from < told.likely_due
    assert told.late is None or told.likely_due < told.late
    low, likely, high = told.gone_pct
    assert 0 <= low < likely < high <= 100
    assert "Likely to want water between" in told.sentence
    assert "look" in told.sentence
    texts = [statement.text for statement in told.evidence]
    assert "Last watered" in texts
    held = next(s for s in told.evidence if "full pot" in s.text)
    assert held.unit == "L"
    assert "akadama" in held.source
    asked = next(s for s in told.evidence if "air asked" in s.text)
    assert "A1, air" in asked.source
    assert "No humidity was measured" in asked.source
    assert any("sun on the pot is not known" in said for said in told.unknown)


def test_steady_air_asks_nothing_by_its_own_night_and_what_drier_air_would(part):
    # At 4 °C with a dew point 3 K below: 0.8135 - 0.6571 = 0.1564 kPa are lacking;
    # 1.2733 kg/m³ * 1013 * 0.1564 / 200 s/m = 1.0087; over 0.05726 + 0.06736 kPa/K
    # 8.094 W/m²; times 86400 s / 2.4916 MJ/kg 0.281 mm a day.
    log_air(part, np.full(HOURS, 4.0))
    likely, high = demand_in(part).recent_mm
    assert likely == pytest.approx(0.0, abs=1e-9)
    assert high == pytest.approx(0.281, rel=0.005)


def test_measured_humidity_stands_before_the_estimate(part):
    # At 80 % a fifth of 0.8135 kPa is lacking: 0.281 * 0.1627 / 0.1564.
    log_air(part, np.full(HOURS, 4.0))
    log_humidity(part, 80.0)
    asked = demand_in(part)
    assert asked.recent_mm == pytest.approx((0.292, 0.292), rel=0.005)
    assert asked.likely.because == "Moisture by H1, relative humidity; A1, air."


def test_a_new_humidity_sensor_waits_until_it_has_read_for_two_weeks(part):
    log_air(part, np.full(HOURS, 4.0))
    log_humidity(part, 80.0, since_h=HOURS - 24 * 14)
    assert "No humidity was measured" in demand_in(part).likely.because
    part.sensors.get(name="H1").days.all().delete()
    part.sensors.get(name="H1").delete()
    log_humidity(part, 80.0, since_h=HOURS - 24 * 15)
    assert "H1" in demand_in(part).likely.because


def test_days_without_readings_ask_nothing_known(part):
    log_air(part, np.where(np.arange(HOURS) < HOURS - 240, 4.0, np.nan))
    asked = demand_in(part)
    assert asked.last == date(2025, 1, 9)
    assert np.isnan(asked.likely.mm[-9:]).all()


def log_air(part, c):
    sensor = make.sensor(name="A1", microclimate=part, place=Sensor.Place.AIR)
    hours = np.flatnonzero(~np.isnan(c))
    make.hours(sensor, START, c[hours])


def log_humidity(part, pct, since_h=0):
    sensor = make.sensor(
        name="H1",
        microclimate=part,
        place=Sensor.Place.AIR,
        quantity=Sensor.Quantity.HUMIDITY,
        unit=Sensor.Unit.PERCENT,
    )
    since = START + timedelta(hours=since_h)
    make.hours(sensor, since, np.full(HOURS - since_h, pct))


def demand_in(part):
    tree = make.tree()
    module = part.modules.filter(held=None).first()
    make.placement(tree=tree, modules=[module], since=START.date())
    return air_demand(tree_outlook(tree, AT), places_of([tree])[tree.pk])


def test_a_tree_found_dry_early_is_due_sooner(stood, check):
    fast, usual = stood(), stood()
    for tree, found in ((fast, DRY), (usual, Observation.Moisture.NO_FINDING)):
        check(tree, 2, MOIST, was_watered=True)
        check(tree, 6, found, was_watered=True)
    assert water(fast).check_from < water(usual).check_from
    assert water(fast).likely_due < water(usual).likely_due


def test_a_tree_found_moist_is_due_later(stood, check):
    slow, usual = stood(), stood()
    for tree in (slow, usual):
        check(tree, 6, DRY, was_watered=True)
    check(slow, 19, MOIST)
    assert water(slow).check_from > water(usual).check_from
    assert water(slow).likely_due > water(usual).likely_due
    pace = next(s for s in water(slow).evidence if "How fast" in s.text)
    assert pace.source == "learned from one finding in this pot"


def test_what_was_found_moist_did_not_want_water_before_that_day(stood, check):
    tree = stood(habit="evergreen conifer")
    check(tree, 6, DRY, was_watered=True)
    check(tree, 12, DRY, was_watered=True)
    check(tree, 19, MOIST)
    told = water(tree)
    assert told.check_from < date(2025, 1, 19)
    assert told.sentence.startswith("Likely to want water between Sun 19")


def test_a_tree_found_dry_and_not_watered_is_to_be_looked_at_today(stood, check):
    tree = stood()
    check(tree, 6, DRY, was_watered=True)
    check(tree, 17, DRY)
    told = water(tree)
    assert told.look_on <= TODAY
    assert told.sentence == (
        "Found dry on Fri 17 January and not watered since: look today."
    )


def test_nothing_to_note_on_a_round_counts_as_not_dry(stood, check, by):
    on_round, alone = stood(), stood()
    for tree in (on_round, alone):
        check(tree, 6, DRY, was_watered=True)
    check(alone, 19, Observation.Moisture.NO_FINDING)
    before = water(alone).likely_due
    at = datetime(2025, 1, 19, 9, tzinfo=UTC)
    frame = tree_outlook(on_round, AT).place.frame
    one = Seen(alone, Observation.Moisture.NOT_CHECKED)
    record_round(frame=frame, at=at, by=by, seen=[one], is_rest_checked=True)
    assert water(alone).likely_due == before
    assert water(on_round).likely_due > before


@pytest.mark.parametrize("size", [{"height_cm": None}, None])
def test_an_unknown_pot_says_so(logged, by, check, size):
    tree = make.tree(pot=size)
    make.placement(tree=tree, modules=[logged.modules.first()], since=START.date())
    check(tree, 6, DRY, was_watered=True)
    told = water(tree)
    assert told.reason.startswith("The size of the pot is not known: give its length")
    assert told.check_from is None
    assert told.gone_pct is None


def test_without_a_watering_written_down_nothing_is_told(stood, check):
    tree = stood()
    check(tree, 6, MOIST)
    reason = "No watering is recorded in this pot: record the next one."
    assert water(tree).reason == reason


def test_without_air_nothing_is_told(check):
    tree = make.tree()
    check(tree, 6, DRY, was_watered=True)
    assert water(tree).reason.startswith("Nothing is known of the air")


@pytest.mark.parametrize(
    ("habit", "days"),
    [
        ("deciduous broadleaf", 21),
        ("evergreen conifer", 14),
        ("evergreen broadleaf", 14),
    ],
)
def test_no_pot_goes_longer_without_a_look(stood, check, habit, days):
    large = {"width_cm": 60, "depth_cm": 40, "height_cm": 45, "substrate": "peat"}
    tree = stood(habit=habit, pot=large)
    check(tree, 19, DRY, was_watered=True)
    told = water(tree)
    assert told.check_from is None or told.check_from > told.look_on
    assert told.look_on == date(2025, 1, 19) + timedelta(days=days)


def test_a_waking_tree_is_due_sooner_than_one_asleep(stood, check, by):
    waking, asleep = stood(), stood()
    for tree in (waking, asleep):
        check(tree, 6, DRY, was_watered=True)
    see_buds(tree=waking, code=3, on=date(2025, 1, 19), by=by)
    assert water(waking).likely_due < water(asleep).likely_due
    assert "tree that is waking or in leaf" in water(waking).evidence[-1].text


def test_autumn_leaves_count_as_leaves(stood):
    october = datetime(2024, 10, 20, 12, tzinfo=UTC)
    tree = stood()
    assert habit_of(tree_outlook(tree, october)) is Habit.WAKING
    tree.leaf_fall_on = date(2024, 10, 15)
    assert habit_of(tree_outlook(tree, october)) is Habit.LEAFLESS
    assert habit_of(tree_outlook(stood(), AT)) is Habit.LEAFLESS


def test_words_and_waterings_of_an_earlier_pot_do_not_count(stood, check, by):
    size = {"width_cm": 30, "depth_cm": 22, "height_cm": 7, "substrate": SUBSTRATE}
    repotted, fresh = stood(), stood(pot={"since": date(2025, 1, 10)})
    for day in (2, 4, 6, 8):
        check(repotted, day, DRY, was_watered=True)
    pot_up(tree=repotted, on=date(2025, 1, 10), by=by, material="glazed", **size)
    assert water(repotted).reason.startswith("No watering is recorded in this pot")
    for tree in (repotted, fresh):
        check(tree, 12, MOIST, was_watered=True)
    assert water(repotted) == water(fresh)


def test_what_was_written_down_later_was_not_known_then(stood, check):
    tree = stood()
    check(tree, 6, DRY, was_watered=True)
    then = datetime(2025, 1, 10, 12, tzinfo=UTC)
    before = water(tree, then)
    check(tree, 17, DRY, was_watered=True)
    assert water(tree, then) == before


def test_an_unknown_substrate_is_said_and_widens_the_range(stood, check):
    known, unknown = stood(), stood(pot={"substrate": ""})
    for tree in (known, unknown):
        check(tree, 18, DRY, was_watered=True)
    held = next(s for s in water(unknown).evidence if "full pot" in s.text)
    assert "substrate is not known" in held.source
    spans = [water(tree).gone for tree in (known, unknown)]
    ratios = [gone.high / gone.low for gone in spans]
    assert ratios[1] > ratios[0]


def test_a_pot_in_the_open_says_that_rain_is_not_reckoned(stood, check):
    tree = stood()
    check(tree, 6, DRY, was_watered=True)
    assert not any("in the open" in said for said in water(tree).unknown)
    Frame.objects.update(kind=Frame.Kind.HEELING_IN)
    assert any("rain, snow and wind" in said for said in water(tree).unknown)


@pytest.mark.parametrize(
    ("material", "unglazed"),
    [
        ("Unglazed stoneware", True),
        ("terracotta", True),
        ("glazed, blue", False),
        ("glazed earthenware", False),
        ("plastic", False),
        ("stone slab", None),
        ("", None),
    ],
)
def test_words_for_the_wall_say_whether_it_lets_vapour_through(material, unglazed):
    assert is_unglazed(material) is unglazed


def test_the_settled_rounds_do_not_go_by_it(stood, check):
    tree = stood()
    owner = make.client()
    make.stay(tree=tree, client=owner, since=START.date())
    check(tree, 16, DRY, was_watered=True)
    frame = tree_outlook(tree, AT).place.frame
    due = watering_due([frame], TODAY)
    assert [one.due_on for one in due] == [date(2025, 1, 23)]


def test_the_number_of_statements_is_the_same_for_every_tree(stood, check):
    def statements(tree):
        outlook, row = tree_outlook(tree, AT), tree.pots.get()
        with CaptureQueriesContext(connection) as asked:
            assert water_of(outlook, row).reason == ""
        return len(asked)

    short, long = stood(), stood()
    check(short, 6, DRY, was_watered=True)
    for day in range(2, 20):
        check(long, day, MOIST, was_watered=day % 5 == 0)
    assert statements(short) == statements(long)


def test_the_page_part_shows_range_reason_and_why(stood, check, by):
    tree = stood()
    told = water(tree)
    assert told.reason in render_to_string(
        "web/_tree_water.html", {"water": told, "user": by}
    )
    check(tree, 6, DRY, was_watered=True)
    told = water(tree)
    shown = render_to_string("web/_tree_water.html", {"water": told, "user": by})
    assert told.sentence in shown
    assert "% is gone, likely" in shown
    assert "<summary>why</summary>" in shown
    assert "mm a day" in shown
