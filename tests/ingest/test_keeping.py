"""The folder of kept files: what a killed import left there is swept by the next."""

import io
import os
import time
from pathlib import Path

import pytest

from tests import make
from wintering.climate.models import LogImport
from wintering.ingest import keeping
from wintering.ingest.intake import import_log
from wintering.ingest.refusals import LogRefused

pytestmark = pytest.mark.django_db

TEXT = "time,air_c\n2024-11-30T10:00Z,1.5\n"
OLD_S = 2 * 86_400
CAN_HOLD = keeping.fcntl is not None  # not on every system
LEFT_S = 0 if CAN_HOLD else OLD_S  # so old, a leftover is known for one


@pytest.fixture
def folder(settings):
    folder = Path(settings.MEDIA_ROOT) / "logs"
    folder.mkdir(parents=True)
    return folder


def bring(text=TEXT, frame=None):
    file = io.BytesIO(text.encode())
    frame = frame or make.frame()
    return import_log(file=file, file_name="log.csv", frame=frame, by=None)


def another_import():
    """While an import of another file is under way."""
    return keeping.keeping(io.BytesIO(b"other"), 5)


def leave(folder, *names, age_s=0):
    """Files as a killed import leaves them."""
    for name in names:
        (folder / name).write_bytes(b"half")
        at = time.time() - age_s
        os.utime(folder / name, (at, at))


def names(folder):
    return {path.name for path in folder.iterdir()}


def kept_name():
    return LogImport.objects.latest("pk").kept.removeprefix("logs/")


def test_half_copies_and_copies_that_no_import_speaks_of_are_swept(folder):
    leave(folder, "tmp1.part", "0" * 64 + ".gz", age_s=LEFT_S)
    bring()
    assert names(folder) == {kept_name()}


def test_copies_of_other_imports_stay(folder):
    bring()
    first = kept_name()
    bring(TEXT.replace("1.5", "2.5"))
    assert names(folder) == {first, kept_name()}


def test_while_another_import_is_under_way_only_what_is_old_is_swept(folder):
    with another_import():
        leave(folder, "new.part", "1" * 64 + ".gz")
        leave(folder, "old.part", "2" * 64 + ".gz", age_s=OLD_S)
        bring()
        assert names(folder) == {kept_name(), "new.part", "1" * 64 + ".gz"}


def test_where_folders_cannot_be_held_only_what_is_old_is_swept(folder, monkeypatch):
    monkeypatch.setattr(keeping, "fcntl", None)
    leave(folder, "new.part", "1" * 64 + ".gz")
    leave(folder, "old.part", "2" * 64 + ".gz", age_s=OLD_S)
    bring()
    assert names(folder) == {kept_name(), "new.part", "1" * 64 + ".gz"}


def test_a_copy_left_behind_does_not_hinder_the_next_import_of_the_same_file(folder):
    bring()
    name = kept_name()
    LogImport.objects.all().delete()  # as if it had been killed before it was told
    bring(frame=make.frame())
    assert names(folder) == {name}


def test_a_refused_file_leaves_no_copy(folder):
    with pytest.raises(LogRefused):
        bring("time,air_c\n2024-11-30T10:00Z,x\n")
    assert names(folder) == set()


def test_a_failing_import_leaves_the_copy_to_another_that_is_under_way(
    folder, monkeypatch
):
    def stop(*_, **__):
        raise KeyboardInterrupt

    monkeypatch.setattr("wintering.ingest.intake._note", stop)
    with another_import():
        with pytest.raises(KeyboardInterrupt):
            bring()
        left = [Path(name).suffix for name in names(folder)]
    assert left == ([".gz"] if CAN_HOLD else [])
