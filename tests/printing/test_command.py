"""The command that writes a bench sheet into a file."""

import hashlib
import json

import pytest
from django.core.management import CommandError, call_command

from tests.printing.reading import pages_of, sizes_mm


def run(capsys, *arguments):
    call_command("sheet", *arguments, "--format", "json")
    return json.loads(capsys.readouterr().out)


def test_it_tells_file_pages_and_digest(long_frame, tmp_path, capsys):
    path = tmp_path / "sheet.pdf"
    done = run(capsys, "long-frame", "--paper", "letter", "-o", str(path))
    content = path.read_bytes()
    assert done == {
        "file": str(path),
        "pages": len(pages_of(content)),
        "sha256": hashlib.sha256(content).hexdigest(),
    }
    assert sizes_mm(content) == {(279.4, 215.9)}


def test_the_ending_chooses_the_form(long_frame, tmp_path, capsys):
    path = tmp_path / "sheet.SVG"
    assert run(capsys, "long-frame", "-o", str(path))["pages"] == 1
    assert path.read_bytes().startswith(b"<svg")


def test_without_json_it_answers_in_a_line(long_frame, tmp_path, capsys):
    call_command("sheet", "long-frame", "-o", str(tmp_path / "sheet.svg"))
    assert "sheet.svg: 1 page, sha256 " in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["no-such", "-o", "x.pdf"], "No frame is called 'no-such'. Known: long-frame"),
        (["long-frame", "-o", "x.docx"], "'x.docx' ends neither in .pdf nor in .svg"),
        (["long-frame", "-o", "no/such/x.pdf"], "cannot be written: No such file"),
    ],
)
def test_it_refuses_in_one_line_and_writes_nothing(
    long_frame, tmp_path, monkeypatch, arguments, said
):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(CommandError) as refusal:
        call_command("sheet", *arguments)
    assert said in str(refusal.value)
    assert "\n" not in str(refusal.value)
    assert list(tmp_path.iterdir()) == []


def test_a_wrong_command_line_is_told_apart(long_frame):
    with pytest.raises(CommandError, match="invalid choice: 'a5'"):
        call_command("sheet", "long-frame", "--paper", "a5", "-o", "x.pdf")
