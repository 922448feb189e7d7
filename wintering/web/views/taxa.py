"""Taxa: the catalogue, what is known of each, picking one by a part of its name."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import Count, Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe
from django_tables2 import RequestConfig

from wintering.people.models import User
from wintering.stays.queries import trees_in_care
from wintering.trees.models import Taxon
from wintering.trees.queries import facts_of, trees_for
from wintering.trees.services import add_taxon
from wintering.web.fact_page import fact_page, stand_ins
from wintering.web.forms.facts import NewTaxonForm, TaxonFilterForm
from wintering.web.tables.taxa import TaxonTable, taxon_rows
from wintering.web.templatetags.facts import speaking_for
from wintering.web.views import keepers_only

CHOICES_SHOWN = 6
ROWS_A_LEAF = 50
# The name of a form's text field for a taxon; its choice has the same prefix.
TYPED, CHOSEN = "taxon_name", "taxon"


@require_safe
def taxon_list(request: HttpRequest) -> HttpResponse:
    form = TaxonFilterForm(request.GET)
    form.is_valid()
    counts = _trees_here(request.user)
    taxa = Taxon.objects.named_like(form.cleaned_data.get("q", ""))
    if form.cleaned_data.get("kept"):
        taxa = taxa.filter(pk__in=counts)
    table = TaxonTable(taxon_rows(taxa, counts))
    is_whole = request.GET.get("leaf") == "whole"
    leaf = False if is_whole else {"per_page": ROWS_A_LEAF, "silent": True}
    RequestConfig(request, paginate=leaf).configure(table)
    content = {
        "form": form,
        "table": table,
        "found": len(table.rows),
        "count": Taxon.objects.count(),
        "is_narrowed": any(form.cleaned_data.values()),
    }
    return render(request, "web/taxon_list.html", content)


@require_safe
def taxon_detail(request: HttpRequest, pk: int) -> HttpResponse:
    taxon = get_object_or_404(Taxon, pk=pk)
    genus = Taxon.objects.filter(
        rank=Taxon.Rank.GENUS, scientific_name=taxon.genus_name
    )
    content = {
        "taxon": taxon,
        "genus": genus.exclude(pk=taxon.pk).first(),
        "species": _species_of(taxon),
        "page": fact_page(taxon, facts_of([taxon.pk])[taxon.pk]),
        "trees": trees_for(request.user).filter(taxon=taxon),
    }
    return render(request, "web/taxon_detail.html", content)


def _species_of(taxon: Taxon) -> QuerySet[Taxon]:
    """The taxa that a genus stands in for; none where it is no genus."""
    if taxon.rank != Taxon.Rank.GENUS:
        return Taxon.objects.none()
    name = taxon.genus_name
    starts = Q(scientific_name__startswith=f"{name} ")
    starts |= Q(scientific_name__startswith=f"×{name} ")
    return Taxon.objects.filter(starts)


@require_http_methods(["GET", "POST"])
@keepers_only
def taxon_add(request: HttpRequest) -> HttpResponse:
    form = NewTaxonForm(request.POST or None)
    if form.is_valid():
        try:
            taxon = add_taxon(by=request.user, **form.cleaned_data)
        except ValidationError as refusal:
            form.add_error("scientific_name", refusal.messages)
        else:
            messages.success(request, f"{taxon} is added. {_what_stands_in(taxon)}")
            return redirect(taxon)
    return render(request, "web/taxon_form.html", {"form": form})


def _what_stands_in(taxon: Taxon) -> str:
    """A sentence on where the facts of a new taxon come from for now."""
    stated = facts_of([taxon.pk])[taxon.pk].stated
    words = [speaking_for(fact) for fact in stand_ins(stated)]
    if not words:
        return (
            "Nothing stands in for what is not stated of it: its needs count as not "
            "known, and its roots as class RC."
        )
    return f"Until you state values of its own, they are taken {' and '.join(words)}."


def _trees_here(user: User) -> dict[int, int]:
    """How many trees in care a person may see, by taxon."""
    here = trees_for(user).filter(pk__in=trees_in_care(timezone.localdate()))
    return dict(here.order_by().values_list("taxon").annotate(Count("pk")))


@require_safe
def taxon_choices(request: HttpRequest) -> HttpResponse:
    """Radio buttons for the taxa that a typed part may mean.

    The part comes as `q`, or under the name of the form's own text field.
    """
    typed, field = request.GET.get("q", ""), CHOSEN
    for name, text in request.GET.items():
        if name.endswith(TYPED):
            typed, field = text, name.removesuffix(TYPED) + CHOSEN
    found = list(Taxon.objects.named_like(typed)[: CHOICES_SHOWN + 1]) if typed else []
    content = {
        "typed": typed,
        "field": field,
        "taxa": found[:CHOICES_SHOWN],
        "are_more": len(found) > CHOICES_SHOWN,
    }
    return render(request, "web/_taxon_choices.html", content)
