"""The rows that say where readings came from, begun before the readings are stored."""

from datetime import UTC, datetime

import numpy as np
from django.db import transaction
from django.utils import timezone
from numpy.typing import NDArray

from wintering.climate.models import Logger, LogImport
from wintering.frames.models import Frame
from wintering.people.models import User


@transaction.atomic
def begin_import(
    *,
    frame: Frame,
    by: User | None,
    file_name: str,
    sha256: str,
    kept: str,
    habits: dict[str, object],
) -> LogImport:
    """A file that is about to be stored; its report follows when it is known."""
    came = LogImport(
        frame=frame,
        at=timezone.now(),
        by=by,
        file_name=file_name[-200:],
        sha256=sha256,
        kept=kept,
        habits=habits,
    )
    # Nobody, on the command line; the report follows.
    came.full_clean(exclude=["by", "habits", "report"])
    came.save()
    return came


@transaction.atomic
def take_rows(
    *, logger: Logger, received_at: datetime, count: int
) -> tuple[LogImport, NDArray[np.int64]]:
    """Numbers for readings that a logger sent: its import of that UTC day, and rows.

    The import's row is held until the transaction ends, so that no number is given
    twice.
    """
    on = received_at.astimezone(UTC).date()
    told = {
        "kind": logger.way,
        "frame": logger.frame,
        "at": received_at,
        "file_name": f"{logger.name}, {on}"[:200],
    }
    came, _ = LogImport.objects.select_for_update(no_key=True).get_or_create(
        logger=logger, received_on=on, undone_at=None, defaults=told
    )
    rows = came.rows + 1 + np.arange(count, dtype=np.int64)
    came.rows += count
    came.save(update_fields=["rows"])
    return came, rows
