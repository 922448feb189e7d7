"""The catalogue as a table: what each taxon needs, and how many trees are here."""

from collections.abc import Iterable
from dataclasses import dataclass

import django_tables2 as tables

from wintering.trees.models import Taxon, TaxonFact
from wintering.trees.queries import facts_of

# Comes after all that has an answer.
LAST = "\uffff"
FACT = '{{% include "web/_taxon_fact.html" with fact={} taxon=record.taxon %}}'


@dataclass(frozen=True, slots=True)
class TaxonRow:
    """One line; what stands in says of whom it speaks."""

    taxon: Taxon
    trees: int
    rest_fact: TaxonFact | None
    root_fact: TaxonFact | None

    @property
    def name(self) -> str:
        """Without the hybrid sign, by which nobody looks a name up."""
        return self.taxon.scientific_name.replace("×", "").casefold()

    @property
    def common(self) -> str:
        return self.taxon.common_names.casefold() or LAST

    @property
    def habit(self) -> str:
        return self.taxon.habit or LAST

    @property
    def rest(self) -> str:
        return self.rest_fact.value if self.rest_fact else LAST

    @property
    def roots(self) -> str:
        return self.root_fact.value if self.root_fact else LAST


def taxon_rows(taxa: Iterable[Taxon], trees_here: dict[int, int]) -> list[TaxonRow]:
    """Rows of some taxa; the number of statements does not grow with them.

    trees_here  how many trees the reader may see, by taxon
    """
    known = list(taxa)
    facts = facts_of(taxon.pk for taxon in known)
    return [
        TaxonRow(
            taxon=taxon,
            trees=trees_here.get(taxon.pk, 0),
            rest_fact=facts[taxon.pk].best("dormancy_class"),
            root_fact=facts[taxon.pk].best("root_class"),
        )
        for taxon in known
    ]


class TaxonTable(tables.Table):
    name = tables.TemplateColumn(
        template_name="web/_taxon_name.html",
        verbose_name="Taxon",
        attrs={"td": {"class": "bare"}},
    )
    common = tables.Column(
        accessor="taxon__common_names",
        order_by="common",
        verbose_name="Common names",
        default="",
    )
    habit = tables.Column(accessor="taxon__habit", order_by="habit", default="")
    rest = tables.TemplateColumn(
        FACT.format("record.rest_fact"), verbose_name="Winter rest"
    )
    roots = tables.TemplateColumn(
        FACT.format("record.root_fact"), verbose_name="Root class"
    )
    trees = tables.Column(verbose_name="Trees here", attrs={"td": {"class": "figure"}})

    class Meta:
        order_by = ("name",)
        empty_text = "No taxon has that in one of its names."
