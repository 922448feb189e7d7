"""The inventory as a file for a spreadsheet, safe to open there."""

from collections.abc import Iterable

import tablib

from wintering.trees.models import Evidence, TaxonFact
from wintering.web.tables.trees import TreeRow

# Spreadsheets take a cell that begins so for a formula (OWASP, CSV injection).
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
HEADERS = [
    "number",
    "taxon",
    "cultivar",
    "given name",
    "original script",
    "owner mark",
    "frame",
    "place",
    "top survives to about (°C)",
    "top: kind and source",
    "roots killed at (°C)",
    "root class",
    "roots: why",
    "roots: kind and source",
    "winter rest",
    "winter rest: kind and source",
    "stage",
    "flags",
]
# A mark that tells spreadsheets that the file is UTF-8: names are in many scripts.
BYTE_ORDER_MARK = "\ufeff"


def csv_of(rows: Iterable[TreeRow]) -> str:
    sheet = tablib.Dataset(headers=HEADERS)
    for row in rows:
        sheet.append([_harmless(cell) for cell in _cells(row)])
    return BYTE_ORDER_MARK + sheet.export("csv")


def _cells(row: TreeRow) -> list[object]:
    top = row.top_fact
    return [
        row.tree.number,
        row.tree.taxon.scientific_name,
        row.tree.cultivar,
        row.tree.given_name,
        row.line.script,
        row.line.owner_mark,
        row.place.frame.name if row.place else "",
        row.line.place,
        top.low if top else "",
        _source(top),
        row.roots.kill_c,
        row.roots.root_class or "",
        row.roots.because,
        f"{row.roots.evidence}: {row.roots.source}",
        row.rest_fact.value if row.rest_fact else "",
        _source(row.rest_fact),
        row.line.stage,
        "; ".join(f"{flag.kind} ({flag.level})" for flag in row.line.flags),
    ]


def _source(fact: TaxonFact | None) -> str:
    """A keeper's own reason is left out: a client may take the file too."""
    if fact is None or fact.kind == Evidence.OWN:
        return fact.get_kind_display() if fact else ""
    return f"{fact.get_kind_display()}: {fact.source}"


def _harmless(cell: object) -> object:
    """Text that a spreadsheet would compute is put behind an apostrophe."""
    if isinstance(cell, str) and cell.startswith(FORMULA_STARTS):
        return f"'{cell}"
    return cell
