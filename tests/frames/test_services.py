import pytest
from django.core.exceptions import ValidationError

from tests import make
from wintering.frames.models import Bench, Frame
from wintering.frames.queries import frames_for
from wintering.frames.services import add_bench, add_frame, follow

pytestmark = pytest.mark.django_db

HEIGHTS = {"height_cm": 75, "headroom_cm": 120, "level": "bench"}


def a_frame(by):
    return add_frame(
        name="Long Frame", width_cm=540, depth_cm=240, time_zone="UTC", by=by
    )


def ruled(frame, by, **fields):
    part = frame.microclimates.get()
    size = {"name": "N1", "x_cm": 0, "y_cm": 150, "width_cm": 450, "depth_cm": 90}
    return add_bench(
        frame=frame,
        by=by,
        module_cm=fields.pop("module_cm", 45),
        microclimate_of=lambda column, row: part,
        **{**HEIGHTS, **size, **fields},
    )


def test_a_bench_is_ruled_from_its_front_edge():
    keeper = make.keeper()
    bench = ruled(a_frame(keeper), keeper)
    first = bench.modules.get(label="N1-01f")
    assert bench.modules.count() == 20
    assert (first.x_cm, first.y_cm) == (0, 0)


def test_columns_can_be_counted_from_the_right_and_rows_from_above():
    keeper = make.keeper()
    bench = ruled(
        a_frame(keeper),
        keeper,
        count_from=Bench.CountFrom.RIGHT,
        front=Bench.Front.UPPER,
    )
    first = bench.modules.get(label="N1-01f")
    assert (first.x_cm, first.y_cm) == (405, 45)


def test_a_single_row_has_no_letter():
    keeper = make.keeper()
    bench = ruled(a_frame(keeper), keeper, depth_cm=45)
    assert bench.modules.filter(label="N1-10").exists()


def test_a_deep_bench_has_letters_in_order():
    keeper = make.keeper()
    bench = ruled(a_frame(keeper), keeper, module_cm=30)
    assert bench.modules.filter(column=1).count() == 3
    assert bench.modules.filter(label="N1-01c").exists()


def test_a_bench_that_reaches_out_of_the_frame_is_refused():
    keeper = make.keeper()
    with pytest.raises(ValidationError, match="reaches out of the frame"):
        ruled(a_frame(keeper), keeper, width_cm=600)


def test_a_module_larger_than_the_bench_is_refused():
    keeper = make.keeper()
    with pytest.raises(ValidationError, match="No module of 100 cm fits"):
        ruled(a_frame(keeper), keeper, module_cm=100)


def test_a_helper_describes_no_frame():
    with pytest.raises(ValidationError, match="Only a keeper"):
        a_frame(make.helper())
    assert not Frame.objects.exists()


def test_a_client_sees_no_frame():
    make.frame()
    assert not frames_for(make.user(role="client"))
    assert frames_for(make.helper()).count() == 1


def test_benches_above_each_other_can_agree_in_their_count():
    keeper = make.keeper()
    bench = ruled(a_frame(keeper), keeper, first_column=3, count_from="right")
    assert [module.label for module in bench.modules.all()][:2] == ["N1-03f", "N1-03b"]
    assert bench.modules.get(label="N1-03f").x_cm == 405
    assert bench.modules.get(label="N1-12f").x_cm == 0


def test_a_microclimate_follows_only_one_of_its_own_frame():
    keeper, part = make.keeper(), make.microclimate()
    other = make.microclimate(frame=part.frame)
    assert (
        follow(microclimate=part, follows=other, offset_k=-1.4, by=keeper).offset_k
        == -1.4
    )
    with pytest.raises(ValidationError, match="its own frame"):
        follow(microclimate=part, follows=make.microclimate(), offset_k=0, by=keeper)
