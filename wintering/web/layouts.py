"""What the page of a frame shows: its sentence, its plan, its benches, who waits."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from wintering.climate.models import Sensor
from wintering.climate.queries import extremes
from wintering.frames.models import Frame, Microclimate
from wintering.stays.fit import LOAD_SHARE
from wintering.stays.models import Placement
from wintering.stays.queries import (
    FramePlan,
    PlanBench,
    PlanTree,
    frame_plan,
    trees_in_care,
)
from wintering.trees.models import Tree
from wintering.web.frame_air import AirNow, air_now
from wintering.web.plan import LevelDrawing, Marked, draw_level

# A night as people speak of it; own choice.
DUSK, DAWN = time(16), time(10)


@dataclass(frozen=True, slots=True)
class Coldest:
    """The coldest reading of the root zone in the last night."""

    sensor: Sensor
    value_c: float
    at: datetime


@dataclass(frozen=True, slots=True)
class BenchLine:
    bench: PlanBench
    trees: tuple[PlanTree, ...]
    free: tuple[str, ...]
    unweighed: tuple[str, ...]

    @property
    def is_near_limit(self) -> bool:
        """More than four fifths of its limit: common practice."""
        limit = self.bench.weight_limit_kg
        return limit is not None and self.bench.load_kg > LOAD_SHARE * limit


@dataclass(frozen=True, slots=True)
class Layout:
    plan: FramePlan
    levels: tuple[LevelDrawing, ...]
    benches: tuple[BenchLine, ...]
    unplaced: tuple[Tree, ...]
    coldest: Coldest | None
    has_root_sensor: bool
    microclimates: tuple[Microclimate, ...]
    air: AirNow


def layout(frame: Frame, now: datetime, tree_number: str = "") -> Layout:
    today = now.astimezone(ZoneInfo(frame.time_zone)).date()
    plan = frame_plan(frame, today)
    marked = Marked(tree_number=tree_number)
    sensors = root_sensors(frame)
    parts = tuple(frame.microclimates.select_related("follows"))
    return Layout(
        plan=plan,
        levels=tuple(draw_level(plan, level, marked) for level in plan.levels),
        benches=tuple(map(_bench_line, _benches(plan))),
        unplaced=tuple(trees_without_place(now)),
        coldest=coldest_last_night(sensors, frame, now),
        has_root_sensor=bool(sensors),
        microclimates=parts,
        air=air_now(frame, parts, now),
    )


def _benches(plan: FramePlan) -> Iterable[PlanBench]:
    return (bench for level in plan.levels for bench in level.benches)


def _bench_line(bench: PlanBench) -> BenchLine:
    return BenchLine(
        bench=bench,
        trees=tuple(sorted(bench.trees, key=lambda tree: tree.labels)),
        free=tuple(m.label for m in bench.modules if not m.tree_number),
        unweighed=tuple(t.number for t in bench.trees if t.weight_kg is None),
    )


def trees_without_place(now: datetime) -> Iterable[Tree]:
    """Trees in care that stand nowhere today."""
    today = now.astimezone().date()
    standing = Placement.objects.on(today).values("tree")
    waiting = trees_in_care(today).exclude(pk__in=standing)
    return waiting.select_related("taxon", "owner").order_by("serial")


def root_sensors(frame: Frame) -> list[Sensor]:
    sensors = frame.sensors.filter(place=Sensor.Place.ROOT)
    return list(sensors.select_related("microclimate"))


def coldest_last_night(
    sensors: list[Sensor], frame: Frame, now: datetime
) -> Coldest | None:
    """None where no sensor stands in a root zone, or none spoke."""
    since, until = last_night(now.astimezone(ZoneInfo(frame.time_zone)))
    found = extremes(sensors, since, until)
    lows = [
        Coldest(sensor, found[sensor.pk].lowest, found[sensor.pk].lowest_at)
        for sensor in sensors
        if sensor.pk in found
    ]
    return min(lows, key=lambda low: low.value_c, default=None)


def last_night(local: datetime) -> tuple[datetime, datetime]:
    """From yesterday's dusk to dawn; before dawn, that night so far."""
    evening = local.date() - timedelta(days=1)
    since = datetime.combine(evening, DUSK, local.tzinfo)
    until = datetime.combine(evening + timedelta(days=1), DAWN, local.tzinfo)
    return since, min(until, local)
