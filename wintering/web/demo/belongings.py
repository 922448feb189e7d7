"""Whose database it is: the demo touches only one that it made itself."""

import json
import secrets
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.exceptions import ValidationError
from django.core.management import call_command
from django.db import connection

from wintering.clients.models import Client
from wintering.climate.models import LogImport
from wintering.frames.models import Frame
from wintering.people.models import Event, User
from wintering.people.services import record
from wintering.trees.models import Photo, Tree

VERB = "made the demo winter"
CONSONANTS, VOWELS = "bdfgklmnprstvz", "aeiou"

NOT_OURS = (
    "This database holds something that the demo did not put there, so it is left as "
    "it is. Give the demo a place of its own: set WINTERING_DATA to an empty folder."
)
PASSWORDS_LOST = (
    "The demo winter is loaded, and the file with its passwords is gone from {place}. "
    "Load it anew with --reset."
)


def is_loaded() -> bool:
    """Whether the demo winter is in this database; refuses one that is somebody's."""
    tables = connection.introspection.table_names()
    if User._meta.db_table not in tables:
        return False
    if Event._meta.db_table in tables and Event.objects.filter(verb=VERB).exists():
        return True
    kept = (User, Client, Tree, Frame)
    if any(m._meta.db_table in tables and m.objects.exists() for m in kept):
        raise ValidationError(NOT_OURS)
    return False


def mark(by: User) -> None:
    """Say in the database that the demo made it."""
    record(by, VERB, by)


def empty() -> None:
    """Take everything out of a database that the demo made, its files too."""
    assert is_loaded(), "only what the demo made is emptied"
    files = list(LogImport.objects.values_list("kept", flat=True))
    for photo in Photo.objects.all():
        files += [photo.large.name, photo.small.name]
    call_command("flush", interactive=False, verbosity=0)
    for name in files:
        (Path(settings.MEDIA_ROOT) / name).unlink(missing_ok=True)
    passwords_file().unlink(missing_ok=True)


def passwords_file() -> Path:
    return Path(settings.DATA_DIR) / "demo_passwords.json"


def new_password() -> str:
    """Eight syllables that can be typed with gloves on, about 49 bits."""
    parts = [
        "".join(secrets.choice(CONSONANTS) + secrets.choice(VOWELS) for _ in "12")
        for _ in "1234"
    ]
    return "-".join(parts)


def keep_passwords(passwords: dict[str, str]) -> None:
    """Write them where only this machine's user reads them, so that a later run can
    print them again: they open invented data only."""
    place = passwords_file()
    place.parent.mkdir(parents=True, exist_ok=True)
    place.unlink(missing_ok=True)
    place.touch(mode=0o600)
    place.write_text(json.dumps(passwords, indent=1), encoding="ascii")


def users() -> list[dict[str, Any]]:
    """Who can sign in, keeper first, with their passwords."""
    try:
        passwords = json.loads(passwords_file().read_text(encoding="ascii"))
    except FileNotFoundError as error:
        words = PASSWORDS_LOST.format(place=passwords_file().parent)
        raise ValidationError(words) from error
    people = User.objects.filter(username__in=passwords).order_by("pk")
    return [
        {
            "username": person.username,
            "role": person.role,
            "password": passwords[person.username],
        }
        for person in people
    ]
