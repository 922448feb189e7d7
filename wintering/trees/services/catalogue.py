"""Loading the catalogue of taxa that ships with the project."""

import csv
from pathlib import Path
from typing import Any

from django.db import transaction

from wintering.trees.models import Evidence, Taxon, TaxonFact
from wintering.trees.names import plain

NAME_COLUMNS = (
    "scientific_name",
    "synonyms",
    "common_names",
    "original_names",
    "romanised_names",
)


@transaction.atomic
def load_catalogue(folder: Path) -> int:
    """Bring taxa and their facts up to the files' state; the keeper's own values stay.

    Reads taxa.csv and taxon_facts.csv. Returns how many facts were put in.
    """
    taxa = {
        row["scientific_name"]: _load_taxon(row) for row in _rows(folder, "taxa.csv")
    }
    facts = [_fact(taxa, row) for row in _rows(folder, "taxon_facts.csv")]
    catalogue = TaxonFact.objects.filter(taxon__in=taxa.values()).exclude(
        kind=Evidence.OWN
    )
    if sorted(map(_content, catalogue)) == sorted(map(_content, facts)):
        return 0
    catalogue.delete()
    return len(TaxonFact.objects.bulk_create(facts))


def _rows(folder: Path, name: str) -> list[dict[str, str]]:
    with (folder / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def _load_taxon(row: dict[str, str]) -> Taxon:
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


def _fact(taxa: dict[str, Taxon], row: dict[str, str]) -> TaxonFact:
    return TaxonFact(
        taxon=taxa[row["taxon"]],
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
