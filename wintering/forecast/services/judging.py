"""Raising and clearing flags from what the readings say."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import Model

from wintering.climate.models import Sensor
from wintering.climate.queries import latest
from wintering.climate.queries.min_max import roots_by_hand
from wintering.forecast.findings import (
    Finding,
    drying_finding,
    findings_of,
    is_still_cold,
    is_still_dry,
    is_still_moist,
    mould_finding,
    quiet_finding,
    with_hand,
)
from wintering.forecast.models import Flag, Judging
from wintering.forecast.queries.air_moisture import FrameAir, airs_of, frame_air
from wintering.forecast.queries.outlook import TreeOutlook, tree_outlooks
from wintering.forecast.queries.thirst import Thirst, parts_stood_in, thirst_of
from wintering.frames.models import Frame
from wintering.people.services import record
from wintering.stays.queries import places_of, trees_in_care, trees_in_frame
from wintering.trees.models import Tree


def judge_frames(*, at: datetime) -> list[Flag]:
    """Judge every frame; see `judge_frame`. Returns all standing flags."""
    for frame in Frame.objects.all():
        judge_frame(frame=frame, at=at)
    return list(Flag.objects.standing().select_related("tree", "frame"))


@transaction.atomic
def judge_frame(*, frame: Frame, at: datetime) -> list[Flag]:
    """Raise, renew and clear the flags of a frame from readings before an instant.

    A flag that goes on standing keeps its `since`. Nothing is predicted: without a
    weather forecast the readings alone are judged. Returns the frame's standing flags.
    """
    # One judge at a time for a frame, so that no flag is raised twice.
    Frame.objects.select_for_update(no_key=True).get(pk=frame.pk)
    Judging.objects.update_or_create(frame=frame, defaults={"at": at})
    today = at.astimezone(ZoneInfo(frame.time_zone)).date()
    in_care = trees_in_care(today).values("pk")
    trees = list(
        trees_in_frame(frame, today)
        .filter(pk__in=in_care)
        .select_related("taxon", "owner")
    )
    outlooks = tree_outlooks(trees, at)
    found: dict[tuple[str, str, int], tuple[Model, Finding]] = {}
    for tree in trees:
        for finding in findings_of(outlooks[tree.pk]):
            found[finding.kind, "tree", tree.pk] = (tree, finding)
    for tree, finding in _cold_by_hand(frame, outlooks, found, at):
        found[finding.kind, "tree", tree.pk] = (tree, finding)
    moisture = _moisture(frame, trees, outlooks, at)
    for tree, finding in _drying(outlooks, moisture):
        found[finding.kind, "tree", tree.pk] = (tree, finding)
    for sensor, finding in [*_quiet(frame, at), *_moulds(moisture)]:
        found[finding.kind, "sensor", sensor.pk] = (sensor, finding)
    return _reconcile(frame, found, at=at, stays=_stays(outlooks, moisture))


def _cold_by_hand(
    frame: Frame,
    outlooks: dict[int, TreeOutlook],
    found: dict[tuple[str, str, int], tuple[Model, Finding]],
    at: datetime,
) -> Iterator[tuple[Tree, Finding]]:
    """Cold roots as a thermometer read by hand tells of them."""
    read = roots_by_hand(frame, at)
    for pk, outlook in outlooks.items() if read else ():
        known = found.get((Flag.Kind.ROOTS_TOO_COLD, "tree", pk))
        before = known[1] if known else None
        there = read.get(outlook.place.microclimate_id) if outlook.place else None
        finding = with_hand(before, outlook, there)
        if finding and finding is not before:
            yield outlook.tree, finding


def _quiet(frame: Frame, at: datetime) -> Iterable[tuple[Sensor, Finding]]:
    # A sensor whose place is not known feeds no flag.
    known = frame.sensors.exclude(place=Sensor.Place.UNKNOWN)
    sensors = list(known.select_related("frame"))
    last = latest(sensors, at)
    for sensor in sensors:
        read = last.get(sensor.pk)
        finding = quiet_finding(sensor, read.at if read else None, at)
        if finding:
            yield sensor, finding


@dataclass(frozen=True, eq=False)
class _Moisture:
    """The air of the frame, and what it did to each tree it is known for."""

    air: FrameAir
    thirsts: dict[int, Thirst]


def _moisture(
    frame: Frame, trees: Sequence[Tree], outlooks: dict[int, TreeOutlook], at: datetime
) -> _Moisture:
    places = places_of(trees)
    own = set(frame.microclimates.values_list("pk", flat=True))
    airs = airs_of(own | parts_stood_in(outlooks, places), at)
    standing = {pk: one.place for pk, one in outlooks.items() if one.place}
    dried = {
        pk: thirst_of(outlook, places.get(pk, ()), airs)
        for pk, outlook in outlooks.items()
    }
    return _Moisture(
        air=frame_air(frame, standing, trees, airs),
        thirsts={pk: thirst for pk, thirst in dried.items() if thirst},
    )


def _drying(
    outlooks: dict[int, TreeOutlook], moisture: _Moisture
) -> Iterator[tuple[Tree, Finding]]:
    for pk, thirst in moisture.thirsts.items():
        finding = drying_finding(outlooks[pk], thirst)
        if finding:
            yield outlooks[pk].tree, finding


def _moulds(moisture: _Moisture) -> Iterator[tuple[Sensor, Finding]]:
    for moulds in moisture.air.moulds.values():
        finding = mould_finding(moulds)
        if finding:
            yield moulds[0].air.sensor, finding


def _stays(
    outlooks: dict[int, TreeOutlook], moisture: _Moisture
) -> Callable[[Flag], bool]:
    """Whether a flag stays that would not be raised anew: missing hours clear none."""

    def stays(flag: Flag) -> bool:
        match flag.kind:
            case Flag.Kind.ROOTS_TOO_COLD | Flag.Kind.GREEN_TOO_COLD:
                outlook = outlooks.get(flag.tree_id)
                return outlook is not None and is_still_cold(outlook, flag.kind)
            case Flag.Kind.DRYING_OUT:
                thirst = moisture.thirsts.get(flag.tree_id)
                return thirst is not None and is_still_dry(thirst)
            case Flag.Kind.GREY_MOULD:
                return is_still_moist(moisture.air.moulds.get(flag.sensor_id, ()))
        return False

    return stays


def _reconcile(
    frame: Frame,
    found: dict[tuple[str, str, int], tuple[Model, Finding]],
    *,
    at: datetime,
    stays: Callable[[Flag], bool],
) -> list[Flag]:
    standing = {_key(flag): flag for flag in _of_frame(frame, found)}
    for key, flag in standing.items():
        if flag.since > at:
            continue  # an instant before the flag says nothing of it
        if key in found:
            _renew(flag, found[key][1], frame, at)
        elif stays(flag):
            _renew(flag, None, frame, at)
        else:
            _clear(flag, at)
    for key, (about, finding) in found.items():
        if key not in standing:
            _raise(about, finding, frame, at)
    return list(Flag.objects.standing().filter(frame=frame))


def _of_frame(
    frame: Frame, found: dict[tuple[str, str, int], tuple[Model, Finding]]
) -> Iterable[Flag]:
    """Flags raised in this frame, and those that its trees brought from another."""
    moved_in = [pk for _, about, pk in found if about == "tree"]
    flags = Flag.objects.standing().select_related("tree", "sensor")
    return [
        *flags.filter(frame=frame),
        *flags.exclude(frame=frame).filter(tree__in=moved_in),
    ]


def _key(flag: Flag) -> tuple[str, str, int]:
    if flag.tree_id:
        return flag.kind, "tree", flag.tree_id
    return flag.kind, "sensor", flag.sensor_id


def _raise(about: Model, finding: Finding, frame: Frame, at: datetime) -> None:
    flag = Flag(
        kind=finding.kind,
        level=finding.level,
        frame=frame,
        tree=about if isinstance(about, Tree) else None,
        sensor=about if isinstance(about, Sensor) else None,
        since=finding.since,
        judged_at=at,
        evidence=finding.as_json,
        advice=finding.advice,
    )
    flag.full_clean()
    flag.save()
    record(None, "was flagged", about, kind=flag.kind, level=flag.level, at=at)


def _renew(flag: Flag, finding: Finding | None, frame: Frame, at: datetime) -> None:
    """Keep a flag standing; without a new finding its evidence stays as it was."""
    flag.judged_at, flag.frame = at, frame
    if finding:
        was = flag.level
        flag.level, flag.advice = finding.level, finding.advice
        flag.evidence = finding.as_json
        if was != flag.level:
            about = flag.tree or flag.sensor
            record(None, "was flagged", about, kind=flag.kind, level=flag.level, at=at)
    flag.save(update_fields=["judged_at", "frame", "level", "advice", "evidence"])


def _clear(flag: Flag, at: datetime) -> None:
    flag.cleared_at = at
    flag.save(update_fields=["cleared_at"])
    record(None, "was cleared of", flag.tree or flag.sensor, kind=flag.kind, at=at)
