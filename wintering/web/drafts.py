"""What is being typed over several tries: an accepted photo is not asked for twice.

A draft's name is drawn at random, stands in the form and is known to its session
alone. It also tells a form that was sent twice from two forms.
"""

import secrets
from dataclasses import dataclass
from datetime import timedelta

from django.contrib.sessions.backends.base import SessionBase
from django.core.files import File
from django.core.files.storage import default_storage
from django.utils import timezone

FOLDER = "waiting"
KEPT_FOR = timedelta(days=1)
DRAFTS_A_SESSION = 20


@dataclass(slots=True)
class Draft:
    session: SessionBase
    name: str

    @property
    def photo_name(self) -> str:
        """What the kept photo was called; empty where none is kept."""
        return self._content.get("photo", "")

    @property
    def done(self) -> int | None:
        """The row that came of it, once it was sent."""
        return self._content.get("done")

    def keep_photo(self, photo: File) -> None:
        sweep()
        self._drop_photo()
        default_storage.save(self._path, photo)
        self._write(photo=photo.name[-60:])

    def open_photo(self) -> File | None:
        if self.photo_name and default_storage.exists(self._path):
            return default_storage.open(self._path)
        return None

    def finish(self, pk: int) -> None:
        self._drop_photo()
        self._write(photo="", done=pk)

    @property
    def _path(self) -> str:
        return f"{FOLDER}/{self.name}"

    @property
    def _content(self) -> dict[str, object]:
        return self.session.get("drafts", {}).get(self.name, {})

    def _write(self, **content: object) -> None:
        drafts = self.session.get("drafts", {})
        drafts[self.name] = {**self._content, **content}
        newest = list(drafts.items())[-DRAFTS_A_SESSION:]
        self.session["drafts"] = dict(newest)

    def _drop_photo(self) -> None:
        default_storage.delete(self._path)


def open_draft(session: SessionBase, name: str = "") -> Draft:
    """The session's draft of that name; a new one where it has none."""
    if name and name in session.get("drafts", {}):
        return Draft(session, name)
    draft = Draft(session, secrets.token_urlsafe(24))
    draft._write()
    return draft


def sweep() -> None:
    """Remove photos whose form was never sent."""
    if not default_storage.exists(FOLDER):
        return
    oldest = timezone.now() - KEPT_FOR
    for name in default_storage.listdir(FOLDER)[1]:
        path = f"{FOLDER}/{name}"
        if default_storage.get_modified_time(path) < oldest:
            default_storage.delete(path)
