import pytest

from tests import make
from wintering.climate.models import Sensor
from wintering.climate.sources import (
    AIR_PLACES,
    ROOT_PLACES,
    humidity_sensors_of,
    sources_of,
)

pytestmark = pytest.mark.django_db


def test_a_microclimate_speaks_by_its_own_sensor():
    sensor = make.sensor(microclimate=make.microclimate())
    source = sources_of([sensor.microclimate_id], ROOT_PLACES)[sensor.microclimate_id]
    assert (source.sensor, source.offset_k) == (sensor, 0)


def test_one_without_a_sensor_follows_another_with_its_offset():
    floor = make.microclimate()
    sensor = make.sensor(microclimate=floor)
    shelf = make.microclimate(frame=floor.frame, follows=floor, offset_k=1.5)
    top = make.microclimate(frame=floor.frame, follows=shelf, offset_k=-0.5)
    source = sources_of([top.pk], ROOT_PLACES)[top.pk]
    assert (source.sensor, source.offset_k) == (sensor, 1.0)
    assert str(source) == f"{sensor.name}, root zone, +1.0 K"


def test_an_air_sensor_does_not_speak_for_the_root_zone():
    sensor = make.sensor(microclimate=make.microclimate(), place=Sensor.Place.AIR)
    assert sources_of([sensor.microclimate_id], ROOT_PLACES) == {}


def test_a_sensor_outside_gives_an_outdoor_bench_its_air():
    sensor = make.sensor(microclimate=make.microclimate(), place=Sensor.Place.OUTSIDE)
    assert sources_of([sensor.microclimate_id], AIR_PLACES)


def test_microclimates_that_follow_each_other_have_no_source():
    one = make.microclimate()
    other = make.microclimate(frame=one.frame, follows=one)
    one.follows = other
    one.save()
    assert sources_of([one.pk, other.pk], ROOT_PLACES) == {}


def test_humidity_is_found_likewise_and_has_no_offset():
    floor = make.microclimate()
    temperature = make.sensor(microclimate=floor, place=Sensor.Place.AIR, name="A1")
    humid = {"quantity": "humidity", "unit": "pct", "microclimate": floor}
    make.sensor(name="H0", place=Sensor.Place.ROOT, **humid)
    sensor = make.sensor(name="H1", place=Sensor.Place.AIR, **humid)
    shelf = make.microclimate(frame=floor.frame, follows=floor, offset_k=1.5)
    lone = make.microclimate(frame=floor.frame)
    assert humidity_sensors_of([floor.pk, shelf.pk, lone.pk]) == {
        floor.pk: sensor,
        shelf.pk: sensor,
    }
    assert sources_of([floor.pk], AIR_PLACES)[floor.pk].sensor == temperature
