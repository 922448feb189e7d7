"""Describing a frame: its benches, their modules, its microclimates."""

from collections.abc import Callable
from string import ascii_lowercase
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.text import slugify

from wintering.frames.models import Bench, Fitting, Frame, Microclimate, Module
from wintering.people.models import User
from wintering.people.services import record

ROW_LETTERS = "fb"  # front and back; deeper benches go on through the alphabet


@transaction.atomic
def add_frame(*, name: str, by: User, **fields: Any) -> Frame:
    """Enter a frame, with one microclimate to begin with."""
    _keeper_only(by)
    frame = Frame(name=name, slug=slugify(name), **fields)
    frame.full_clean()
    frame.save()
    add_microclimate(frame=frame, name="whole frame", by=by)
    record(by, "built", frame, name=name)
    return frame


@transaction.atomic
def change_frame(*, frame: Frame, by: User, **fields: Any) -> Frame:
    """Change what is recorded of a frame; its address stays."""
    _keeper_only(by)
    was = {name: getattr(frame, name) for name in fields}
    for name, value in fields.items():
        setattr(frame, name, value)
    changed = [name for name in fields if getattr(frame, name) != was[name]]
    if changed:
        frame.full_clean()
        frame.save(update_fields=changed)
        record(by, "changed", frame, was={name: str(was[name]) for name in changed})
    return frame


@transaction.atomic
def add_microclimate(
    *, frame: Frame, name: str, by: User, **fields: Any
) -> Microclimate:
    _keeper_only(by)
    microclimate = Microclimate(frame=frame, name=name, slug=slugify(name), **fields)
    microclimate.full_clean()
    microclimate.save()
    record(by, "named", microclimate, name=name)
    return microclimate


@transaction.atomic
def add_fitting(*, frame: Frame, by: User, **fields: Any) -> Fitting:
    """Enter something that stays where it is, such as the door or the heater."""
    _keeper_only(by)
    fitting = Fitting(frame=frame, **fields)
    fitting.full_clean()
    _stay_inside(fitting, f"The {fitting.get_kind_display()}")
    fitting.save()
    record(by, "fitted", fitting, kind=fitting.get_kind_display())
    return fitting


@transaction.atomic
def follow(
    *, microclimate: Microclimate, follows: Microclimate, offset_k: float, by: User
) -> Microclimate:
    """Let a microclimate take another's temperature, plus an offset."""
    _keeper_only(by)
    if follows.frame_id != microclimate.frame_id:
        raise ValidationError("A microclimate follows one of its own frame.")
    microclimate.follows, microclimate.offset_k = follows, offset_k
    microclimate.full_clean()
    microclimate.save(update_fields=["follows", "offset_k"])
    record(by, "set", microclimate, follows=follows.name, offset_k=offset_k)
    return microclimate


@transaction.atomic
def add_bench(
    *,
    frame: Frame,
    by: User,
    module_cm: float,
    microclimate_of: Callable[[int, int], Microclimate],
    first_column: int = 1,
    **fields: Any,
) -> Bench:
    """Stand a bench in the frame and rule it in modules.

    module_cm        side of a module [cm]; what is left over at the end stays unruled
    microclimate_of  the microclimate of a module, by its column and row
    first_column     what the count begins with, so that benches above each other agree
    """
    _keeper_only(by)
    bench = Bench(frame=frame, **fields)
    bench.full_clean()
    _stay_inside(bench, f"Bench {bench.name}")
    bench.save()
    columns, rows = int(bench.width_cm // module_cm), int(bench.depth_cm // module_cm)
    if columns == 0 or rows == 0:
        raise ValidationError(
            f"No module of {module_cm:g} cm fits on a bench of "
            f"{bench.width_cm:g} × {bench.depth_cm:g} cm."
        )
    modules = [
        _module(bench, (column, row), first_column, rows, module_cm, microclimate_of)
        for column in range(first_column, first_column + columns)
        for row in range(1, rows + 1)
    ]
    Module.objects.bulk_create(modules)
    record(by, "ruled", bench, name=bench.name, modules=len(modules))
    return bench


def _module(
    bench: Bench,
    at: tuple[int, int],
    first_column: int,
    rows: int,
    module_cm: float,
    microclimate_of: Callable[[int, int], Microclimate],
) -> Module:
    column, row = at
    along = (column - first_column) * module_cm
    inward = (row - 1) * module_cm
    from_left = bench.count_from == Bench.CountFrom.LEFT
    from_below = bench.front == Bench.Front.LOWER
    module = Module(
        bench=bench,
        label=f"{bench.name}-{column:02d}{_row_letter(row, rows)}",
        column=column,
        row=row,
        x_cm=along if from_left else bench.width_cm - along - module_cm,
        y_cm=inward if from_below else bench.depth_cm - inward - module_cm,
        width_cm=module_cm,
        depth_cm=module_cm,
        microclimate=microclimate_of(column, row),
    )
    module.clean_fields(exclude=["bench"])
    return module


def _row_letter(row: int, rows: int) -> str:
    if rows == 1:
        return ""
    if rows == 2:
        return ROW_LETTERS[row - 1]
    if rows > len(ascii_lowercase):
        raise ValidationError("A bench has at most 26 rows: rule it in larger modules.")
    return ascii_lowercase[row - 1]


def _stay_inside(thing: Bench | Fitting, name: str) -> None:
    frame = thing.frame
    if (
        thing.x_cm < 0
        or thing.y_cm < 0
        or thing.x_cm + thing.width_cm > frame.width_cm
        or thing.y_cm + thing.depth_cm > frame.depth_cm
    ):
        raise ValidationError(
            f"{name} reaches out of the frame, which is "
            f"{frame.width_cm:g} × {frame.depth_cm:g} cm inside."
        )


def _keeper_only(by: User) -> None:
    if not by.is_keeper:
        raise ValidationError("Only a keeper describes frames.")
