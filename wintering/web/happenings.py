"""What happened around some sensors, as small words on the time axis of a chart."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import chain
from zoneinfo import ZoneInfo

from django.db.models import Q

from wintering.care.models import Round
from wintering.climate.models import LogImport, MinMaxEntry, Sensor, SensorCheck
from wintering.forecast.models import Flag
from wintering.frames.models import Frame


@dataclass(frozen=True, slots=True)
class Happening:
    at: datetime
    word: str


def happenings(
    frame: Frame, sensors: Sequence[Sensor], start_s: int, end_s: int
) -> list[Happening]:
    """Flags, rounds, logs, checks in ice and readings by hand, in order of time."""
    window = (
        datetime.fromtimestamp(start_s, UTC),
        datetime.fromtimestamp(end_s, UTC),
    )
    found = chain(
        _flags(frame, sensors, window),
        _rounds(frame, window),
        _logs(frame, window),
        _checks(sensors, window),
        _by_hand(frame, sensors, window),
    )
    return sorted(found, key=lambda one: (one.at, one.word))


Instants = tuple[datetime, datetime]


def _flags(
    frame: Frame, sensors: Sequence[Sensor], window: Instants
) -> Iterable[Happening]:
    """Flags of one kind on one day are one mark: a cold night raises many."""
    about = Q(sensor__isnull=True) | Q(sensor__in=sensors)
    flags = Flag.objects.filter(about, frame=frame, since__range=window)
    zone = ZoneInfo(frame.time_zone)
    first: dict[tuple[object, str], datetime] = {}
    trees: Counter[tuple[object, str]] = Counter()
    for at, kind, tree in flags.order_by("since").values_list("since", "kind", "tree"):
        key = (at.astimezone(zone).date(), kind)
        first.setdefault(key, at)
        trees[key] += tree is not None
    for key, at in first.items():
        label = str(Flag.Kind(key[1]).label)
        count = trees[key]
        more = f", {count} trees" if count > 1 else ""
        yield Happening(at, f"flag: {label}{more}")


def _rounds(frame: Frame, window: Instants) -> Iterable[Happening]:
    rounds = Round.objects.filter(frame=frame, at__range=window)
    return (Happening(at, "round") for at in rounds.values_list("at", flat=True))


def _logs(frame: Frame, window: Instants) -> Iterable[Happening]:
    """Files alone: a logger that sends by itself brings something every day."""
    logs = LogImport.objects.filter(frame=frame, kind=LogImport.Kind.FILE)
    for at in logs.filter(at__range=window).values_list("at", flat=True):
        yield Happening(at, "log imported")
    undone = logs.filter(undone_at__range=window)
    for at in undone.values_list("undone_at", flat=True):
        yield Happening(at, "import undone")


def _checks(sensors: Sequence[Sensor], window: Instants) -> Iterable[Happening]:
    checks = SensorCheck.objects.filter(
        sensor__in=sensors, checked_at__range=window, withdrawn_at=None
    )
    for at, name in checks.values_list("checked_at", "sensor__name"):
        yield Happening(at, f"{name} checked in ice")


def _by_hand(
    frame: Frame, sensors: Sequence[Sensor], window: Instants
) -> Iterable[Happening]:
    """Thermometers of the frame that hang where the sensors do."""
    entries = MinMaxEntry.objects.filter(
        sensor__frame=frame,
        sensor__place__in={sensor.place for sensor in sensors},
        read_at__range=window,
        withdrawn_at=None,
    )
    for at in entries.values_list("read_at", flat=True):
        yield Happening(at, "read by hand")
