"""Renew the vendored files: htmx, uPlot, and the fonts for pages and for paper.

    python tests/vendor.py

Needs npm, and in this Python the `vendor` group of pyproject.toml (fonttools with
woff). It installs the packages named below in a temporary folder without running
their scripts, copies an explicit list of files, cuts the Japanese fonts down to
REPERTOIRE, and writes LOCK: what each file is, its licence and its sha384.
tests/test_vendor.py holds the files against that lock. To take a newer version change
PACKAGES, run this, delete the old files, and look at a page and a printed sheet.
"""

import base64
import hashlib
import json
import re
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
WEB = "wintering/web/static/vendor"
PRINT = "wintering/printing/fonts"
LOCK = ROOT / WEB / "lock.json"

HTMX = "htmx.org"
UPLOT = "uplot"
SANS = "@expo-google-fonts/noto-sans"
SANS_JP = "@expo-google-fonts/noto-sans-jp"
PACKAGES = {HTMX: "2.0.11", UPLOT: "1.6.32", SANS: "0.4.2", SANS_JP: "0.4.3"}

# Not in code page 932, but wanted on a printed sheet and drawn by Noto Sans JP.
SIGNS = "≤≥✓"
SUBSET_WORDS = (
    "subset to the characters of code page 932, the kanji of JIS X 0213 under the "
    "radicals for tree and grass, and " + SIGNS
)
# Names of trees such as 橅 lie outside code page 932: blocks of radicals 75 and 140.
PLANT_KANJI = (range(0x6728, 0x6B20), range(0x8278, 0x864E))


@dataclass(frozen=True)
class Vendored:
    """One file that is kept: where it comes from and where it goes."""

    name: str
    version: str
    licence: str
    package: str
    source: str
    file: str
    licence_source: str
    licence_file: str
    changed: str = ""


def _font(family: str, weight: str, folder: str, kind: str) -> Vendored:
    is_japanese = family == "Noto Sans JP"
    short = family.replace(" ", "")
    # the version that the font itself tells in its name table
    version = "2.004" if is_japanese else "2.015"
    source_folder = {"Regular": "400Regular", "Bold": "700Bold"}[weight]
    return Vendored(
        name=f"{family} {weight}",
        version=version,
        licence="OFL-1.1",
        package=SANS_JP if is_japanese else SANS,
        source=f"{source_folder}/{short}_{source_folder}.ttf",
        file=f"{folder}/{short}-{weight}-{version}.{kind}",
        licence_source="LICENSE_FONT",
        licence_file=f"{folder}/LICENSE-{short}.txt",
        changed=SUBSET_WORDS if is_japanese else "",
    )


def _uplot(source: str, ending: str) -> Vendored:
    return Vendored(
        name="uPlot",
        version=PACKAGES[UPLOT],
        licence="MIT",
        package=UPLOT,
        source=source,
        file=f"{WEB}/uplot-{PACKAGES[UPLOT]}.{ending}",
        licence_source="LICENSE",
        licence_file=f"{WEB}/LICENSE-uplot.txt",
    )


FILES = [
    Vendored(
        name="htmx",
        version=PACKAGES[HTMX],
        licence="0BSD",
        package=HTMX,
        source="dist/htmx.min.js",
        file=f"{WEB}/htmx-{PACKAGES[HTMX]}.min.js",
        licence_source="LICENSE",
        licence_file=f"{WEB}/LICENSE-htmx.txt",
    ),
    _uplot("dist/uPlot.iife.min.js", "min.js"),
    _uplot("dist/uPlot.min.css", "min.css"),
    _font("Noto Sans JP", "Regular", WEB, "woff2"),
    _font("Noto Sans", "Regular", PRINT, "ttf"),
    _font("Noto Sans", "Bold", PRINT, "ttf"),
    _font("Noto Sans JP", "Regular", PRINT, "ttf"),
    _font("Noto Sans JP", "Bold", PRINT, "ttf"),
]


def sha384(path: Path) -> str:
    """The digest as browsers' `integrity` writes it."""
    digest = hashlib.sha384(path.read_bytes()).digest()
    return "sha384-" + base64.b64encode(digest).decode()


def repertoire() -> str:
    """JIS X 0208, the name kanji that code page 932 adds (髙, 﨑), and trees' names."""
    private_use = range(0xE000, 0xF900)
    codes = [code for code in range(0x20, 0x10000) if code not in private_use]
    plants = [code for block in PLANT_KANJI for code in block]
    return (
        SIGNS
        + "".join(chr(code) for code in codes if _is_in(chr(code), "cp932"))
        + "".join(chr(code) for code in plants if _is_in(chr(code), "euc_jisx0213"))
    )


def _is_in(character: str, encoding: str) -> bool:
    try:
        character.encode(encoding)
    except UnicodeEncodeError:
        return False
    return True


def without_source_map(script: str) -> str:
    """Static file collection fails on a source map that is not there."""
    return re.sub(r"\n?//# sourceMappingURL=.*", "", script)


def _install(folder: Path) -> Path:
    npm = shutil.which("npm")
    if npm is None:
        sys.exit("npm is missing; install it to renew the vendored files.")
    (folder / "package.json").write_text("{}")
    wanted = [f"{name}@{version}" for name, version in PACKAGES.items()]
    options = ["--ignore-scripts", "--no-save", "--no-audit", "--no-fund"]
    subprocess.run([npm, "install", *options, *wanted], cwd=folder, check=True)
    return folder / "node_modules"


def _subset(source: Path, target: Path, characters: Path) -> None:
    command = [sys.executable, "-m", "fontTools.subset", str(source), "--no-hinting"]
    command += [f"--text-file={characters}", f"--output-file={target}"]
    if target.suffix == ".woff2":
        command.append("--flavor=woff2")
    subprocess.run(command, check=True)


def _copy(item: Vendored, packages: Path, characters: Path) -> None:
    source = packages / item.package / item.source
    target = ROOT / item.file
    target.parent.mkdir(parents=True, exist_ok=True)
    shutil.copyfile(
        packages / item.package / item.licence_source, ROOT / item.licence_file
    )
    if item.changed:
        _subset(source, target, characters)
    elif target.suffix == ".js":
        script = without_source_map(source.read_text(encoding="utf-8"))
        target.write_text(script.rstrip() + "\n", encoding="utf-8", newline="\n")
    else:
        shutil.copyfile(source, target)


def _entry(item: Vendored) -> dict[str, str]:
    entry = {
        "file": item.file,
        "name": item.name,
        "version": item.version,
        "licence": item.licence,
        "licence_file": item.licence_file,
        "package": f"{item.package} {PACKAGES[item.package]}",
        "sha384": sha384(ROOT / item.file),
    }
    return {**entry, "changed": item.changed} if item.changed else entry


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        packages = _install(folder)
        characters = folder / "repertoire.txt"
        characters.write_text(repertoire(), encoding="utf-8")
        for item in FILES:
            _copy(item, packages, characters)
    entries = json.dumps([_entry(item) for item in FILES], indent=2, ensure_ascii=False)
    LOCK.write_text(entries + "\n", encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
