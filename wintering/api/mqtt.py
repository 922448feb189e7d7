"""What a message from a broker says: measurements, or values without a time.

A message is a SenML pack in JSON, or one plain number whose unit belongs to its topic.
The broker does not tell when a message was sent. So a value that brings no time of its
own was measured when it came in, unless it may have waited at the broker too long.
"""

import math
import re
import zlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from wintering.api.measurements import Measurement, NotUnderstood
from wintering.api.mqtt_address import Topics, unit_of
from wintering.api.senml import Resolved, measured, resolve

# A value that came later than this has no known time: own choice, half of the ten
# minutes between readings that a slow logger keeps.
LONGEST_WAIT_S = 300
_NUMBER = re.compile(r"[+-]?(\d{1,30}(\.\d{0,30})?|\.\d{1,30})([eE][+-]?\d{1,2})?")
_LARGEST = 1_000_000  # bytes of one message: own choice, far above any pack here


@dataclass(frozen=True, slots=True)
class Message:
    """A message as it came in.

    mid         the broker's number of it while it is under way
    waited_s    the longest that it may have waited at the broker
    connection  which of the bridge's connections brought it
    """

    topic: str
    payload: bytes
    mid: int = 0
    qos: int = 1
    is_retained: bool = False
    is_repeated: bool = False
    received_s: float = 0.0
    waited_s: float = 0.0
    connection: int = 0

    @property
    def delivery(self) -> tuple[int, int]:
        """What tells this delivery from every other that may be repeated."""
        return self.mid, zlib.crc32(self.topic.encode() + b"\0" + self.payload)


@dataclass(frozen=True, slots=True)
class Untimed:
    """A value of which nobody knows when it was measured."""

    name: str
    value: Decimal
    unit: str
    received_s: float
    why: str

    def as_json(self) -> dict[str, object]:
        return {
            "name": self.name,
            "value": str(self.value),
            "unit": self.unit,
            "received_s": round(self.received_s),
            "why": self.why,
        }


@dataclass(frozen=True, slots=True)
class Understood:
    """What a message holds."""

    measurements: tuple[Measurement, ...] = ()
    untimed: tuple[Untimed, ...] = ()


class Reader:
    """Reads messages in their order."""

    def __init__(self, listened: Sequence[Topics]) -> None:
        self._listened = listened
        self._latest: dict[str, tuple[int, Decimal]] = {}  # of values without a time

    def read(self, message: Message) -> Understood:
        """The values of a message, or NotUnderstood."""
        if len(message.payload) > _LARGEST:
            raise NotUnderstood.because(
                f"It has {len(message.payload):,} bytes, and {_LARGEST:,} are the "
                "most; send smaller packs."
            )
        if message.payload.lstrip()[:1] in {b"[", b"{"}:
            found = resolve(message.payload)
            names = [_channel(message.topic, record.name) for record in found]
        else:
            found, names = [self._plain(message)], [message.topic]
        taken: list[Measurement] = []
        untimed: list[Untimed] = []
        for record, name in zip(found, names, strict=True):
            one = self._one(replace(record, name=name), message)
            (taken if isinstance(one, Measurement) else untimed).append(one)
        return Understood(tuple(taken), tuple(untimed))

    def _plain(self, message: Message) -> Resolved:
        text = message.payload.decode("ascii", "replace").strip()
        if not _NUMBER.fullmatch(text):
            raise NotUnderstood.because(
                "It is neither a SenML pack nor a plain number with a decimal point."
            )
        unit = unit_of(message.topic, self._listened)
        if unit is None:
            raise NotUnderstood.because(
                "It is a number without a unit; say which with --unit, or with "
                "--topic FILTER=UNIT."
            )
        return Resolved(None, message.topic, Decimal(0), Decimal(text), unit)

    def _one(self, record: Resolved, message: Message) -> Measurement | Untimed:
        one = measured(record, received_s=message.received_s)
        why = None if record.is_timed else self._why_untimed(one, message)
        if why is None:
            return one
        return Untimed(one.name, one.value, one.unit, message.received_s, why)

    def _why_untimed(self, one: Measurement, message: Message) -> str | None:
        """Why the instant at which it came in tells nothing, or None if it does."""
        if message.is_retained:
            return "retained by the broker"
        if message.waited_s > LONGEST_WAIT_S:
            return f"waited at the broker for {_how_long(message.waited_s)}"
        second, value = self._latest.get(one.name, (None, None))
        if second == one.second and value != one.value:
            return "came in within a second of another"
        self._latest[one.name] = (one.second, one.value)
        return None


def _how_long(waited_s: float) -> str:
    return "an unknown time" if math.isinf(waited_s) else f"up to {waited_s:.0f} s"


def _channel(topic: str, name: str) -> str:
    """A SenML name by itself if it is a URN or the like; others are unique only below
    their topic."""
    return name if ":" in name else f"{topic}/{name}"
