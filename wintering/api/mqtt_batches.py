"""Messages in batches: gathered, stored in one transaction, then acknowledged.

The broker keeps a message until it is acknowledged. So whatever happens between two
lines here, it is either stored or comes again; and one that was stored already is known
by its delivery, and changes nothing.
"""

import logging
import time
from collections import deque
from collections.abc import Callable
from dataclasses import asdict, dataclass
from datetime import UTC, datetime

from django.core.exceptions import ValidationError
from django.db import (
    DatabaseError,
    InterfaceError,
    OperationalError,
    connection,
)

from wintering.api.measurements import NotUnderstood
from wintering.api.mqtt import Message, Reader, Understood, Untimed
from wintering.climate.models import Logger
from wintering.climate.services.arrivals import Folded
from wintering.climate.services.heard import (
    DELIVERIES_REMEMBERED,
    LoggerEnded,
    deliveries_kept,
    keep_heard,
)

# Own choices. A broker sends no more than a few messages ahead, so a batch is stored as
# soon as a short silence shows that it waits.
SILENCE_S = 0.05
LONGEST_GATHERED_S = 1.0
LARGEST = DELIVERIES_REMEMBERED
LONGEST_PAUSE_S = 30.0
# What is published at QoS 0 the broker sends without end, also when nothing can be
# stored; beyond so many waiting messages it is let go, so that memory lasts.
MOST_WAITING = 20_000
MOST_SHOWN = 1_000  # characters kept of what is set aside

log = logging.getLogger(__name__)


@dataclass
class Counts:
    """What became of the messages so far, and of the values in them."""

    messages: int = 0
    repeated: int = 0
    not_understood: int = 0
    retained: int = 0
    untimed: int = 0
    lost: int = 0
    added: int = 0
    unchanged: int = 0
    conflicts: int = 0
    marked: int = 0

    def as_json(self) -> dict[str, int]:
        return asdict(self)


@dataclass(frozen=True, slots=True)
class _Taken:
    message: Message
    content: Understood
    refusal: str = ""
    is_known: bool = False

    def as_json(self) -> dict[str, object]:
        """What was set aside, and why, so that a database takes it."""
        payload = self.message.payload[:MOST_SHOWN].decode("utf-8", "backslashreplace")
        return {
            "topic": _storable(self.message.topic),
            "payload": _storable(payload),
            "received_s": round(self.message.received_s),
            "why": _storable(self.refusal),
        }


class Batches:
    """What was heard and is not stored yet."""

    def __init__(
        self,
        *,
        logger: Logger,
        reader: Reader,
        acknowledge: Callable[[Message], None],
        counts: Counts | None = None,
    ) -> None:
        self.counts = counts or Counts()
        self._logger = logger
        self._reader = reader
        self._acknowledge = acknowledge
        self._pending: list[_Taken] = []
        self._kept = deque(deliveries_kept(logger), maxlen=DELIVERIES_REMEMBERED)
        self._told_untimed: set[str] = set()
        self._first_at = self._last_at = self._try_at = 0.0
        self._pause_s = 0.0

    @property
    def is_empty(self) -> bool:
        return not self._pending

    def forget_deliveries(self) -> None:
        """The broker has begun to number anew: none that was kept can come again."""
        self._kept.clear()

    def take(self, message: Message) -> None:
        """Read a message and put it into the batch."""
        self._last_at = time.monotonic()
        if not self._pending:
            self._first_at = self._last_at
        if message.qos == 0 and len(self._pending) >= MOST_WAITING:
            self._lose()
            return
        self._pending.append(self._read(message))

    def is_due(self) -> bool:
        now = time.monotonic()
        if not self._pending or now < self._try_at:
            return False
        is_full = len(self._pending) >= LARGEST
        is_silent = now - self._last_at >= SILENCE_S
        return is_full or is_silent or now - self._first_at >= LONGEST_GATHERED_S

    def store(self) -> bool:
        """Store the batch and acknowledge it; False if the database is not there.

        LoggerEnded goes through, and nothing is acknowledged.
        """
        try:
            self._store()
        except (OperationalError, InterfaceError) as error:
            self._pause(error)
            return False
        if self._pause_s:
            log.info("The database is there again.")
        self._pause_s = self._try_at = 0.0
        log.debug("%d messages taken in all.", self.counts.messages)
        return True

    def _store(self) -> None:
        try:
            self._keep(self._pending)
        except (OperationalError, InterfaceError, LoggerEnded):
            raise
        except (ValidationError, DatabaseError):
            # One of them cannot be stored; it must not hold up the others.
            while self._pending:
                self._settle(self._kept_alone(self._pending[0]))
                self._pending.pop(0)
        else:
            for taken in self._pending:
                self._settle(taken)
            self._pending = []

    def _settle(self, taken: _Taken) -> None:
        """Count what is stored, and let the broker forget it."""
        self._count(taken)
        self._acknowledge(taken.message)

    def _lose(self) -> None:
        if not self.counts.lost:
            log.error("Messages at QoS 0 are lost while nothing can be stored.")
        self.counts.lost += 1

    def _read(self, message: Message) -> _Taken:
        if message.is_repeated and self._is_known(message):
            return _Taken(message, Understood(), is_known=True)
        try:
            return _Taken(message, self._reader.read(message))
        except NotUnderstood as refused:
            return _Taken(message, Understood(), _sentence(refused))
        except ArithmeticError as error:
            log.exception("a number in a message could not be reckoned with")
            why = f"A number in it cannot be reckoned with: {type(error).__name__}."
            return _Taken(message, Understood(), why)

    def _is_known(self, message: Message) -> bool:
        delivery = message.delivery
        pending = (taken.message.delivery for taken in self._pending)
        return delivery in self._kept or delivery in pending

    def _kept_alone(self, taken: _Taken) -> _Taken:
        try:
            self._keep([taken])
        except (OperationalError, InterfaceError, LoggerEnded):
            raise
        except (ValidationError, DatabaseError) as error:
            told = getattr(error, "messages", None) or [f"The database says: {error}."]
            taken = _Taken(taken.message, Understood(), " ".join(told))
            self._keep([taken])
        return taken

    def _keep(self, batch: list[_Taken]) -> None:
        new = [t.message.delivery for t in batch if t.message.qos and not t.is_known]
        untimed = [
            u.as_json()
            for t in batch
            for u in t.content.untimed
            if not t.message.is_retained
        ]
        refused = [t for t in batch if t.refusal]
        kept = keep_heard(
            logger=self._logger,
            measurements=[m for t in batch for m in t.content.measurements],
            untimed=untimed,
            # What is retained comes again at every start.
            set_aside=[t.as_json() for t in refused if not t.message.is_retained],
            not_understood=len(refused),
            deliveries=[*self._kept, *new],
            at=datetime.now(UTC),
        )
        self._kept.extend(new)
        self._add(kept)

    def _add(self, kept: Folded) -> None:
        self.counts.added += kept.added
        self.counts.unchanged += kept.unchanged
        self.counts.conflicts += kept.conflicts
        self.counts.marked += kept.marked

    def _pause(self, error: Exception) -> None:
        if not self._pause_s:
            log.warning("The database cannot be written to (%s); trying on.", error)
        if not connection.in_atomic_block:
            connection.close()
        self._pause_s = min(2 * self._pause_s or 1.0, LONGEST_PAUSE_S)
        self._try_at = time.monotonic() + self._pause_s

    def _count(self, taken: _Taken) -> None:
        message, counts = taken.message, self.counts
        counts.messages += 1
        counts.repeated += taken.is_known
        if taken.refusal:
            counts.not_understood += 1
            log.warning(
                "Set aside, not understood: %s %r. %s",
                message.topic,
                message.payload[:200],
                taken.refusal,
            )
        if message.is_retained and taken.content.untimed:
            counts.retained += 1
        else:
            counts.untimed += len(taken.content.untimed)
        for value in taken.content.untimed:
            self._tell_untimed(value)

    def _tell_untimed(self, value: Untimed) -> None:
        """Say so once of each name; all but retained ones are kept in the report."""
        level = logging.DEBUG if value.name in self._told_untimed else logging.WARNING
        self._told_untimed.add(value.name)
        log.log(
            level,
            "No reading, for its time is not known: %s %s %s, %s.",
            value.name,
            value.value,
            value.unit,
            value.why,
        )


def _storable(text: str) -> str:
    """NUL and halves of characters in writing, for PostgreSQL takes neither."""
    written = text[:MOST_SHOWN].encode("utf-8", "backslashreplace").decode()
    return written.replace("\0", "\\0")


def _sentence(refused: NotUnderstood) -> str:
    return " ".join(
        problem.reason
        if problem.row is None
        else f"Record {problem.row}: {problem.reason}"
        for problem in refused.problems
    )
