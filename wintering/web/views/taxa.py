"""Taxa: what is stated of each, by whom, and picking one by a part of its name."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from wintering.trees.models import Taxon
from wintering.trees.queries import facts_of, trees_for
from wintering.web.templatetags.facts import by_question

CHOICES_SHOWN = 6
# The name of a form's text field for a taxon; its choice has the same prefix.
TYPED, CHOSEN = "taxon_name", "taxon"


@require_safe
def taxon_detail(request: HttpRequest, pk: int) -> HttpResponse:
    taxon = get_object_or_404(Taxon, pk=pk)
    stated = facts_of([taxon.pk])[taxon.pk].stated
    content = {
        "taxon": taxon,
        "stated": sorted(stated.items(), key=lambda pair: by_question(pair[0])),
        "trees": trees_for(request.user).filter(taxon=taxon),
    }
    return render(request, "web/taxon_detail.html", content)


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
