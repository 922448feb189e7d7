"""An uploaded log between preview and import: held for one session, for a day."""

import hashlib
import secrets
from dataclasses import dataclass
from datetime import timedelta

from django.contrib.sessions.backends.base import SessionBase
from django.core.files import File
from django.core.files.storage import default_storage
from django.utils import timezone

FOLDER = "waiting-logs"
KEPT_FOR = timedelta(days=1)
KEY = "waiting_log"


@dataclass(frozen=True, slots=True)
class WaitingLog:
    """Its path is drawn at random; the session alone knows it."""

    path: str
    name: str
    frame_id: int

    @property
    def mark(self) -> str:
        """Tells this file from one put aside later, without giving its path away."""
        return hashlib.sha256(self.path.encode()).hexdigest()

    def open(self) -> File:
        return default_storage.open(self.path)


def hold(session: SessionBase, file: File, frame_id: int) -> WaitingLog:
    """Put a file aside. A session holds one: an older one goes."""
    sweep()
    let_go(session)
    path = default_storage.save(f"{FOLDER}/{secrets.token_urlsafe(24)}", file)
    session[KEY] = {"path": path, "name": file.name, "frame_id": frame_id}
    return WaitingLog(**session[KEY])


def held(session: SessionBase) -> WaitingLog | None:
    told = session.get(KEY)
    if not told or not default_storage.exists(told["path"]):
        return None
    return WaitingLog(**told)


def let_go(session: SessionBase) -> None:
    told = session.pop(KEY, None)
    if told:
        default_storage.delete(told["path"])


def sweep() -> None:
    """Remove files whose import was never finished."""
    if not default_storage.exists(FOLDER):
        return
    oldest = timezone.now() - KEPT_FOR
    for name in default_storage.listdir(FOLDER)[1]:
        path = f"{FOLDER}/{name}"
        if default_storage.get_modified_time(path) < oldest:
            default_storage.delete(path)
