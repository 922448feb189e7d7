from datetime import UTC, date, datetime

import pytest

from tests import make
from wintering.printing.sheets import bench_sheet, limits_on
from wintering.stays.queries import frame_plan

ON = date(2025, 1, 20)
AT = datetime(2025, 1, 20, 12, tzinfo=UTC)


@pytest.fixture
def long_frame(db):
    """5.40 × 2.40 m with a floor and a bench, four trees, a door and an outlet."""
    frame = make.frame(
        name="Long Frame", slug="long-frame", time_zone="America/New_York"
    )
    floor = make.microclimate(frame=frame, name="floor bay", slug="floor")
    rear = make.microclimate(
        frame=frame, name="rear bench", slug="rear", safe_low_c=-1, safe_high_c=4
    )
    make.bench(name="N0", level="floor", height_cm=0, microclimate=floor, y_cm=150)
    bench = make.bench(name="N1", microclimate=rear, y_cm=150)
    place = {module.label: module for module in bench.modules.all()}
    noa = make.client(name="Noa Sandoral", mark="CA")
    pine = make.tree(
        taxon=make.taxon("Pinus parviflora"),
        original_script="五葉松",
        owner=noa,
        canopy_width_cm=66,
        canopy_depth_cm=44,
        weight_kg=22,
    )
    make.placement(tree=pine, modules=[place["N1-02b"], place["N1-03b"]])
    for label, width_cm in (("N1-01f", 36), ("N1-04f", 22), ("N1-06b", 6)):
        tree = make.tree(
            taxon=make.taxon("Ulmus parvifolia"),
            canopy_width_cm=width_cm,
            canopy_depth_cm=width_cm,
            weight_kg=None if width_cm == 6 else 5,
            pot={"width_cm": width_cm, "depth_cm": width_cm},
        )
        make.placement(tree=tree, modules=[place[label]])
    make.fitting(frame=frame)
    make.fitting(frame=frame, kind="outlet", x_cm=0, y_cm=100, width_cm=15, depth_cm=15)
    return frame


@pytest.fixture
def printed():
    def make_sheet(frame, **choices):
        plan = frame_plan(frame, ON)
        choices = {"limits": limits_on(plan), "made_at": AT, **choices}
        return bench_sheet(plan, **choices)

    return make_sheet
