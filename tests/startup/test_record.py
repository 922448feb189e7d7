"""What .venv remembers decides what a start must do."""

import pytest

from wintering.startup.record import (
    FILE_NAME,
    UNFINISHED,
    Needed,
    Record,
    needed,
    read,
    stamp,
    write,
)

LOCK = b"django==5.2.19 --hash=sha256:00\n"
PYTHON = "3.11.7 (main)"
HOLDS_IT = Record(PYTHON, {"requirements.txt": stamp(LOCK, PYTHON)})


def lacking(record, *, lock=LOCK, python=PYTHON, name="requirements.txt"):
    return needed(record, name=name, lock=lock, python=python)


def test_nothing_is_done_when_nothing_changed():
    assert lacking(HOLDS_IT) is Needed.NOTHING


def test_a_changed_lock_is_installed():
    assert lacking(HOLDS_IT, lock=LOCK + b"x") is Needed.INSTALL


def test_the_other_lock_has_a_stamp_of_its_own():
    assert lacking(HOLDS_IT, name="tests/requirements.txt") is Needed.INSTALL


def test_another_python_makes_the_environment_anew():
    assert lacking(HOLDS_IT, python="3.12.1 (main)") is Needed.MAKE


@pytest.mark.parametrize("record", [None, UNFINISHED], ids=["none", "unfinished"])
def test_no_finished_record_makes_the_environment_anew(record):
    assert lacking(record) is Needed.MAKE


def test_stamp_tells_lock_and_python_apart():
    stamps = {stamp(LOCK, PYTHON), stamp(LOCK + b"x", PYTHON), stamp(LOCK, "3.12")}
    assert len(stamps) == 3


@pytest.mark.parametrize("record", [HOLDS_IT, UNFINISHED], ids=["holds", "unfinished"])
def test_record_is_read_as_it_was_written(tmp_path, record):
    write(tmp_path, record)
    assert read(tmp_path) == record
    assert [path.name for path in tmp_path.iterdir()] == [FILE_NAME]


@pytest.mark.parametrize("text", ["", "{", "[]", '{"python": "3"}', '{"stamps": {}}'])
def test_a_broken_record_counts_as_none(tmp_path, text):
    (tmp_path / FILE_NAME).write_text(text)
    assert read(tmp_path) is None


def test_a_missing_record_counts_as_none(tmp_path):
    assert read(tmp_path) is None
