"""What happens to frames that stand already when a claim on them narrows."""

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

BEFORE = ("frames", "0002_frame_lies_on_earth")
AFTER = ("frames", "0003_frame_lies_north_of_the_equator")


def migrated_to(target):
    """The frames as the models of that migration have them."""
    executor = MigrationExecutor(connection)
    executor.migrate([target])
    return executor.loader.project_state([target]).apps.get_model("frames", "Frame")


@pytest.mark.django_db(transaction=True)
def test_a_place_south_of_the_equator_is_emptied_and_its_frame_stays():
    latest = MigrationExecutor(connection).loader.graph.leaf_nodes()
    try:
        frames = migrated_to(BEFORE).objects
        size = {"width_cm": 200, "depth_cm": 100, "time_zone": "UTC"}
        for name, latitude in (("south", -36.8), ("north", 59.9), ("equator", 0.0)):
            frames.create(
                name=name, slug=name, latitude_deg=latitude, longitude_deg=10.7, **size
            )
        frames.create(name="nowhere", slug="nowhere", **size)
        places = {
            frame.name: (frame.latitude_deg, frame.longitude_deg)
            for frame in migrated_to(AFTER).objects.all()
        }
    finally:
        MigrationExecutor(connection).migrate(latest)
    assert places == {
        "south": (None, None),
        "north": (59.9, 10.7),
        "equator": (0.0, 10.7),
        "nowhere": (None, None),
    }
