"""What came of an import, in the words that the command prints."""

from dataclasses import asdict, dataclass, field
from typing import Any

MOST_LISTED = 10_000  # rows of each list; more are only counted
MOST_KEPT = 500  # of these stay with the import in the database


@dataclass(frozen=True, slots=True)
class ConflictRow:
    row: int
    sensor: str
    at: str
    stored: float  # in the sensor's own unit
    new: float


@dataclass(frozen=True, slots=True)
class RejectedRow:
    row: int
    reason: str


@dataclass(frozen=True, slots=True)
class SensorReport:
    """One column's readings; counts are values, empty cells left out."""

    place: str
    unit: str
    read: int
    added: int
    marked: int
    unchanged: int
    replaced: int
    conflicts: list[ConflictRow]
    conflicts_count: int
    first: str | None  # of the readings that count, UTC
    last: str | None
    min_c: float | None
    max_c: float | None


@dataclass(frozen=True, slots=True)
class ImportReport:
    """The whole file's readings; sums and extremes of its sensors."""

    read: int = 0
    added: int = 0
    marked: int = 0
    unchanged: int = 0
    replaced: int = 0
    conflicts: list[ConflictRow] = field(default_factory=list)
    conflicts_count: int = 0
    rejected: list[RejectedRow] = field(default_factory=list)
    rejected_count: int = 0
    warnings: list[str] = field(default_factory=list)
    first: str | None = None
    last: str | None = None
    min_c: float | None = None
    max_c: float | None = None
    sensors: dict[str, SensorReport] = field(default_factory=dict)

    @classmethod
    def of(
        cls,
        sensors: dict[str, SensorReport],
        rejected: list[RejectedRow],
        warnings: list[str],
        *,
        rejected_count: int,
    ) -> "ImportReport":
        parts = list(sensors.values())
        conflicts = [row for part in parts for row in part.conflicts]
        return cls(
            read=sum(part.read for part in parts),
            added=sum(part.added for part in parts),
            marked=sum(part.marked for part in parts),
            unchanged=sum(part.unchanged for part in parts),
            replaced=sum(part.replaced for part in parts),
            conflicts=sorted(conflicts, key=lambda c: (c.row, c.sensor)),
            conflicts_count=sum(part.conflicts_count for part in parts),
            rejected=rejected,
            rejected_count=rejected_count,
            warnings=warnings,
            first=min((p.first for p in parts if p.first), default=None),
            last=max((p.last for p in parts if p.last), default=None),
            min_c=min((p.min_c for p in parts if p.min_c is not None), default=None),
            max_c=max((p.max_c for p in parts if p.max_c is not None), default=None),
            sensors=sensors,
        )

    def as_json(self) -> dict[str, Any]:
        return asdict(self)

    def shortened(self) -> dict[str, Any]:
        """For keeping: long lists are cut; their lengths stand beside them."""
        kept = self.as_json()
        for name in ("conflicts", "rejected"):
            kept[name] = kept[name][:MOST_KEPT]
        for sensor in kept["sensors"].values():
            sensor["conflicts"] = sensor.pop("conflicts_count")
        return kept
