"""What is found, and on what evidence."""

from dataclasses import asdict, dataclass
from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

from wintering.climate.sources import Source
from wintering.science.series import HOUR_S


@dataclass(frozen=True, slots=True)
class Statement:
    """One piece of evidence: what, how much, and where that comes from."""

    text: str
    value: float | str | None
    unit: str
    source: str


@dataclass(frozen=True, slots=True)
class Finding:
    """A risk that stands at an instant."""

    kind: str
    level: str
    since: datetime
    evidence: tuple[Statement, ...]
    advice: str

    @property
    def as_json(self) -> list[dict[str, object]]:
        return [asdict(statement) for statement in self.evidence]


def measured_by(sources: tuple[Source, ...]) -> str:
    """The sensors that readings come from, in words."""
    return "; ".join(map(str, sources)) or "no reading"


def gaps(missing_hours: int, source: str = "the log") -> tuple[Statement, ...]:
    """One line on the hours that nobody measured, none where there are none."""
    if not missing_hours:
        return ()
    return (Statement("Hours without a reading", missing_hours, "h", source),)


def instant(hour: int) -> datetime:
    """When a clock hour begins."""
    return datetime.fromtimestamp(hour * HOUR_S, UTC)


def start_of(day: date, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, time(), zone)


def moment_words(at: datetime, zone: ZoneInfo) -> str:
    """An instant as the frame's own clock shows it."""
    local = at.astimezone(zone)
    return f"{local:%A} {local.day} {local:%B %H:%M %Z}"


def day_words(day: date) -> str:
    return f"{day.day} {day:%B %Y}"
