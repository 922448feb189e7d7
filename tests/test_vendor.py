"""The vendored files are what their lock says, and name no place to fetch from."""

import json
from io import BytesIO

import pypdf
import pytest
import typst
from PIL import ImageFont

from tests.vendor import LOCK, PRINT, ROOT, WEB, sha384, without_source_map

ENTRIES = json.loads(LOCK.read_text(encoding="utf-8"))
BY_FILE = {entry["file"]: entry for entry in ENTRIES}
LICENCE_WORDS = {
    "0BSD": "Zero-Clause BSD",
    "MIT": "The MIT License",
    "OFL-1.1": "SIL OPEN FONT LICENSE",
}


@pytest.mark.parametrize("file", BY_FILE)
def test_file_has_the_digest_in_the_lock(file):
    assert sha384(ROOT / file) == BY_FILE[file]["sha384"]


@pytest.mark.parametrize("file", BY_FILE)
def test_file_keeps_its_version_in_its_name(file):
    assert BY_FILE[file]["version"] in file


@pytest.mark.parametrize("file", BY_FILE)
def test_licence_lies_beside_the_file(file):
    entry = BY_FILE[file]
    licence = (ROOT / entry["licence_file"]).read_text(encoding="utf-8")
    assert LICENCE_WORDS[entry["licence"]] in licence


def test_every_vendored_file_is_in_the_lock():
    on_disk = {
        path.relative_to(ROOT).as_posix()
        for folder in (WEB, PRINT)
        for path in (ROOT / folder).iterdir()
    }
    licences = {entry["licence_file"] for entry in ENTRIES}
    lock = {LOCK.relative_to(ROOT).as_posix()}
    assert on_disk == set(BY_FILE) | licences | lock


def test_scripts_name_no_source_map():
    scripts = [file for file in BY_FILE if file.endswith(".js")]
    assert scripts
    for file in scripts:
        assert "sourceMappingURL" not in (ROOT / file).read_text(encoding="utf-8")


def test_a_source_map_line_is_cut_off():
    script = "let a = 1;\n//# sourceMappingURL=a.min.js.map\n"
    assert without_source_map(script) == "let a = 1;\n"


@pytest.mark.parametrize(
    "lock",
    [LOCK, ROOT / "requirements.txt", ROOT / "tests/requirements.txt"],
    ids=["vendored", "run", "tests"],
)
def test_lock_holds_no_address(lock):
    text = lock.read_text(encoding="utf-8")
    assert "://" not in text
    assert "index-url" not in text
    assert "find-links" not in text


def test_page_font_is_small_enough_for_a_phone():
    font = next(file for file in BY_FILE if file.endswith(".woff2"))
    assert (ROOT / font).stat().st_size <= 1_200_000


# Names as keepers and clients write them: cultivars, personal names with kanji outside
# JIS X 0208, Polish, Czech, Turkish, Greek and Cyrillic letters, and a sheet's signs.
WORDS = "五葉松 出猩々 真柏 髙橋 﨑 Łukasz š ş ğ ř ő ß Ωφ Ж °C − × ½ ≤ ≥ → ✓ □"


@pytest.mark.parametrize("weight", ["regular", "bold"])
def test_printing_fonts_draw_every_sign_of_a_name(weight):
    page = (
        f'#set text(font: ("Noto Sans", "Noto Sans JP"), weight: "{weight}")\n'
        "#sys.inputs.words"
    )
    fonts = typst.Fonts(
        include_system_fonts=False,
        include_embedded_fonts=False,
        font_paths=[ROOT / PRINT],
    )
    pdf = typst.compile(page.encode(), font_paths=fonts, sys_inputs={"words": WORDS})
    text = pypdf.PdfReader(BytesIO(pdf)).pages[0].extract_text()
    assert "".join(text.split()) == "".join(WORDS.split())


def _draws(font, character):
    """A character that a font lacks is drawn as its empty box."""
    return bytes(font.getmask(character)) != bytes(font.getmask("\uffff"))


def test_every_name_in_the_fixtures_can_be_drawn():
    fonts = [
        ImageFont.truetype(ROOT / file, 24, layout_engine=ImageFont.Layout.BASIC)
        for file in BY_FILE
        if file.endswith(".ttf")
    ]
    files = (ROOT / "fixtures").iterdir()
    text = set("".join(path.read_text(encoding="utf-8") for path in files))
    undrawn = {c for c in text if c.isprintable() and c != " "} - {
        c for c in text for font in fonts if _draws(font, c)
    }
    assert undrawn == set()
