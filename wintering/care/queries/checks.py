"""What is due, and when each tree was last looked at and watered."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.db.models import Max, QuerySet

from wintering.care.models import Observation, Round, Watering
from wintering.forecast.queries.exposure import Exposure, exposures
from wintering.frames.models import Frame
from wintering.frames.queries import frames_for
from wintering.people.models import User
from wintering.science.series import Hourly
from wintering.science.water import in_zero_curtain, next_check, why_not_water
from wintering.stays.queries import (
    Place,
    places_of,
    places_on,
    trees_in_care,
    trees_in_frame,
)
from wintering.trees.models import Tree


def rounds_for(user: User) -> QuerySet[Round]:
    return Round.objects.filter(frame__in=frames_for(user)).select_related(
        "frame", "by"
    )


@dataclass(frozen=True, slots=True)
class Care:
    """When a tree was last looked at, what was found, and when it was last watered."""

    checked_at: datetime | None = None
    moisture: str = ""
    note: str = ""
    watered_at: datetime | None = None


def care_of(trees: Iterable[Tree | int]) -> dict[int, Care]:
    """The last check and watering of each tree. 'Could not check' is no check."""
    ids = [tree if isinstance(tree, int) else tree.pk for tree in trees]
    watered = dict(
        Watering.objects.filter(tree__in=ids)
        .values_list("tree")
        .annotate(Max("at"))
        .order_by()
    )
    checked = (
        Observation.objects.filter(tree__in=ids)
        .exclude(moisture=Observation.Moisture.NOT_CHECKED)
        .order_by("at", "pk")
    )
    # The newest of each tree comes last and stays.
    last = {observation.tree_id: observation for observation in checked}
    return {pk: _care(last.get(pk), watered.get(pk)) for pk in ids}


def _care(last: Observation | None, watered_at: datetime | None) -> Care:
    if last is None:
        return Care(watered_at=watered_at)
    return Care(last.at, last.get_moisture_display(), last.note, watered_at)


@dataclass(frozen=True, slots=True)
class DueCheck:
    """A moisture check that is due: for which pot, by when, and why then."""

    tree_id: int
    number: str
    name: str
    place_label: str
    frame: Frame
    due_on: date
    latest_on: date
    last_check_on: date | None
    is_overdue: bool
    reason: str


def watering_due(frames: Sequence[Frame], on: date) -> list[DueCheck]:
    """The next moisture check of every tree in care in these frames, soonest first."""
    found = [due for frame in frames for due in _due_in(frame, on)]
    return sorted(found, key=lambda due: (due.due_on, due.frame.name, due.place_label))


def _due_in(frame: Frame, on: date) -> list[DueCheck]:
    trees = list(
        trees_in_frame(frame, on)
        .filter(pk__in=trees_in_care(on).values("pk"))
        .select_related("taxon")
    )
    care, places = care_of(trees), places_on(trees, on)
    zone = ZoneInfo(frame.time_zone)
    return [_due(tree, places[tree.pk], care[tree.pk], zone, on) for tree in trees]


def _due(tree: Tree, place: Place, care: Care, zone: ZoneInfo, on: date) -> DueCheck:
    checked_on = care.checked_at.astimezone(zone).date() if care.checked_at else None
    check = next_check(checked_on, on)
    return DueCheck(
        tree_id=tree.pk,
        number=tree.number,
        name=tree.name,
        place_label=place.label,
        frame=place.frame,
        due_on=check.earliest,
        latest_on=check.latest,
        last_check_on=checked_on,
        is_overdue=check.overdue,
        reason=check.because,
    )


def reasons_not_to_water(trees: Sequence[Tree], at: datetime) -> dict[int, list[str]]:
    """For each tree why it should not be watered now; an empty list forbids nothing."""
    places = {tree.pk: [] for tree in trees} | places_of(trees)
    yesterday = date.fromordinal(at.date().toordinal() - 2)
    exposed = exposures(places, since=yesterday, at=at)
    return {pk: why_not_now(exposure) for pk, exposure in exposed.items()}


def why_not_now(exposure: Exposure) -> list[str]:
    """Why a tree should not be watered in the last hour of what it stood in."""
    return why_not_water(
        _now(exposure.root),
        _now(exposure.air),
        in_zero_curtain(exposure.root, exposure.air),
    )


def _now(hourly: Hourly) -> float | None:
    """The last hour's temperature [°C]; None where that hour has none."""
    if not hourly.c.size or hourly.c[-1] != hourly.c[-1]:
        return None
    return float(hourly.c[-1])
