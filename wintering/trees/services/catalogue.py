"""Loading the catalogue of taxa that ships with the project."""

import csv
from pathlib import Path
from typing import Any

from django.db import transaction
from django.db.models import Q

from wintering.trees.models import Evidence, Taxon, TaxonFact
from wintering.trees.names import plain

NAME_COLUMNS = (
    "scientific_name",
    "synonyms",
    "common_names",
    "original_names",
    "romanised_names",
)


# Files of facts, and the column that says of whom they speak.
SUBJECTS = {
    "taxon_facts.csv": "taxon",
    "genus_facts.csv": "genus",
    "habit_facts.csv": "habit",
}

FALLBACKS = {"genus_facts.csv", "habit_facts.csv"}


@transaction.atomic
def load_catalogue(folder: Path) -> int:
    """Bring taxa and their facts up to the files' state; the keeper's own values stay.

    Reads taxa.csv, taxon_facts.csv and, where they are there, genus_facts.csv and
    habit_facts.csv. Returns how many facts were put in.
    """
    taxa = {
        row["scientific_name"]: _load_taxon(row) for row in _rows(folder, "taxa.csv")
    }
    facts = [
        _fact(row, **_subject(column, row[column], taxa))
        for name, column in SUBJECTS.items()
        for row in _rows(folder, name)
    ]
    ours = Q(taxon__in=taxa.values()) | ~Q(habit="")
    catalogue = TaxonFact.objects.filter(ours).exclude(kind=Evidence.OWN)
    if sorted(map(_content, catalogue)) == sorted(map(_content, facts)):
        return 0
    catalogue.delete()
    return len(TaxonFact.objects.bulk_create(facts))


def _subject(column: str, name: str, taxa: dict[str, Taxon]) -> dict[str, Any]:
    if column == "habit":
        return {"habit": name}
    if column == "genus" and name not in taxa:
        taxa[name] = _load_genus(name)
    return {"taxon": taxa[name]}


def _load_genus(name: str) -> Taxon:
    genus, _ = Taxon.objects.update_or_create(
        scientific_name=name,
        defaults={"rank": Taxon.Rank.GENUS, "search_text": plain(name)},
    )
    return genus


def _rows(folder: Path, name: str) -> list[dict[str, str]]:
    path = folder / name
    if name in FALLBACKS and not path.exists():
        return []
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _load_taxon(row: dict[str, str]) -> Taxon:
    _rename(row["scientific_name"], row["synonyms"])
    taxon, _ = Taxon.objects.update_or_create(
        scientific_name=row["scientific_name"],
        defaults={
            "common_names": row["common_names"],
            "original_script": row["original_names"],
            "habit": row["habit"],
            "is_evergreen": _answer(row["is_evergreen"]),
            "search_text": plain(" ".join(row[name] for name in NAME_COLUMNS)),
        },
    )
    return taxon


def _rename(name: str, synonyms: str) -> None:
    """A taxon that was loaded under a former name keeps its row, and so its trees."""
    if Taxon.objects.filter(scientific_name=name).exists():
        return
    former = [each.strip() for each in synonyms.split(";") if each.strip()]
    known = Taxon.objects.filter(scientific_name__in=former).first()
    if known:
        known.scientific_name = name
        known.save(update_fields=["scientific_name"])


def _fact(row: dict[str, str], **subject: Any) -> TaxonFact:
    return TaxonFact(
        **subject,
        attribute=row["attribute"],
        value=row["value"],
        low=_number(row["low"]),
        high=_number(row["high"]),
        unit=row["unit"],
        printed_unit=row["printed_unit"],
        root_age=row["root_age"],
        qualifier=row["qualifier"],
        kind=Evidence(row["kind"]),
        source=row["source"],
        address=row["address"],
        usable_as_limit=_answer(row["usable_as_limit"]),
        limit_reason=row["limit_reason"],
    )


def _answer(text: str) -> bool | None:
    return {"yes": True, "no": False, "": None}[text]


def _number(text: str) -> float | None:
    return float(text) if text else None


def _content(fact: TaxonFact) -> tuple[Any, ...]:
    """What makes two facts the same, in a form that sorts."""
    names = [f.attname for f in TaxonFact._meta.fields if f.attname != "id"]
    return tuple(str(getattr(fact, name)) for name in names)
