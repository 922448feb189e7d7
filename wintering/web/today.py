"""What matters now: the frames' nights, the flags, what is due."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from wintering.care.queries import DueCheck, watering_due
from wintering.climate.models import Sensor
from wintering.climate.queries import Extremes, extremes, sensors_for
from wintering.forecast.models import Flag
from wintering.forecast.queries import standing_flags
from wintering.frames.models import Frame
from wintering.frames.queries import frames_for
from wintering.people.models import User
from wintering.stays.models import Stay
from wintering.stays.queries import places_on, stays_for, trees_in_frame

NIGHT = timedelta(hours=24)
ENDS_WITHIN = timedelta(days=14)


@dataclass(frozen=True, slots=True)
class FrameNow:
    """One frame: how many trees, and the coldest root zone of the last 24 hours."""

    frame: Frame
    tree_count: int
    has_root_sensor: bool
    coldest_c: float | None = None
    coldest_at: datetime | None = None
    where: str = ""


@dataclass(frozen=True, slots=True)
class FlagLine:
    """A flag, and where its tree stands."""

    flag: Flag
    place: str


@dataclass(frozen=True, slots=True)
class FlagGroup:
    """Flags of one kind and level that ask for the same: said once, trees listed."""

    lines: tuple[FlagLine, ...]

    @property
    def first(self) -> Flag:
        return self.lines[0].flag

    @property
    def since(self) -> datetime:
        return min(line.flag.since for line in self.lines)


@dataclass(frozen=True, slots=True)
class DueRound:
    """A frame's moisture checks that are due: one round, not one errand a pot."""

    frame: Frame
    due_on: date
    overdue: tuple[DueCheck, ...]
    checks: tuple[DueCheck, ...]
    reason: str


@dataclass(frozen=True, eq=False)
class Today:
    frames: Sequence[FrameNow]
    groups: Sequence[FlagGroup]
    rounds: Sequence[DueRound]
    ending: Sequence[Stay]
    drafts: Sequence[Stay]


def today_of(user: User, at: datetime, on: date) -> Today:
    frames = list(frames_for(user))
    stays = stays_for(user).filter(until=None)
    drafts = stays.filter(confirmed_at=None) if user.is_staffing else stays.none()
    return Today(
        frames=_frames_now(user, frames, at, on),
        groups=_grouped(list(standing_flags(user)), on),
        rounds=_rounds(watering_due(frames, on), on),
        ending=list(
            stays.filter(planned_until__lte=on + ENDS_WITHIN).order_by("planned_until")
        ),
        drafts=list(drafts),
    )


def _frames_now(
    user: User, frames: Sequence[Frame], at: datetime, on: date
) -> list[FrameNow]:
    probes = [
        sensor
        for sensor in sensors_for(user)
        if sensor.place == Sensor.Place.ROOT and sensor.microclimate_id
    ]
    found = extremes(probes, at - NIGHT, at)
    told = [
        _frame_now(frame, trees_in_frame(frame, on).count(), probes, found)
        for frame in frames
    ]
    # An empty shed is no news beside a full frame.
    return [now for now in told if now.tree_count] or told


def _frame_now(
    frame: Frame, count: int, probes: Sequence[Sensor], found: dict[int, Extremes]
) -> FrameNow:
    own = [sensor for sensor in probes if sensor.frame_id == frame.pk]
    read = [(found[s.pk].lowest, s) for s in own if s.pk in found]
    if not read:
        return FrameNow(frame, count, bool(own))
    coldest_c, sensor = min(read, key=lambda pair: pair[0])
    return FrameNow(
        frame=frame,
        tree_count=count,
        has_root_sensor=True,
        coldest_c=coldest_c,
        coldest_at=found[sensor.pk].lowest_at,
        where=f"{sensor.microclimate}, sensor {sensor.name}",
    )


def _grouped(flags: Sequence[Flag], on: date) -> list[FlagGroup]:
    """Flags come most urgent first, and so do their groups; trees as they stand."""
    places = places_on([flag.tree_id for flag in flags if flag.tree_id], on)
    groups: dict[tuple[str, str, int, str], list[FlagLine]] = defaultdict(list)
    for flag in flags:
        place = places[flag.tree_id].label if flag.tree_id in places else ""
        key = (flag.level, flag.kind, flag.frame_id, flag.advice)
        groups[key].append(FlagLine(flag, place))
    return [
        FlagGroup(tuple(sorted(group, key=lambda line: line.place)))
        for group in groups.values()
    ]


def _rounds(due: Iterable[DueCheck], on: date) -> list[DueRound]:
    """The next round of each frame: what is due today or overdue, else the next."""
    by_frame: dict[Frame, list[DueCheck]] = defaultdict(list)
    for check in due:
        by_frame[check.frame].append(check)
    return [_round(frame, checks, on) for frame, checks in by_frame.items()]


def _round(frame: Frame, checks: Sequence[DueCheck], on: date) -> DueRound:
    due_on = min(check.due_on for check in checks)
    until = max(on, due_on)
    now = tuple(check for check in checks if check.due_on <= until)
    return DueRound(
        frame=frame,
        due_on=due_on,
        overdue=tuple(check for check in now if check.is_overdue),
        checks=now,
        reason=now[0].reason,
    )
