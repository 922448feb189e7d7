"""Facts of one tree, and stating or taking back the keeper's own, seen before kept."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from wintering.trees.attributes import ATTRIBUTES, label_of
from wintering.trees.models import Evidence, Taxon, TaxonFact, Tree
from wintering.trees.queries import (
    FactChange,
    Facts,
    facts_of,
    facts_of_trees,
    trees_for,
)
from wintering.trees.services import own_fact, state_fact, withdraw_fact
from wintering.web.fact_page import Subject, fact_page, page_url, preview
from wintering.web.forms.facts import FactForm, WithdrawForm
from wintering.web.views import keepers_only

# The button that keeps what the page has shown.
KEEP = "keep"


@require_safe
def tree_facts(request: HttpRequest, number: str) -> HttpResponse:
    tree = get_object_or_404(trees_for(request.user), number=number)
    page = fact_page(tree, facts_of_trees([tree])[tree.pk])
    return render(request, "web/tree_facts.html", {"tree": tree, "page": page})


@require_http_methods(["GET", "POST"])
@keepers_only
def taxon_fact(request: HttpRequest, pk: int, attribute: str) -> HttpResponse:
    return _state(request, get_object_or_404(Taxon, pk=pk), attribute)


@require_http_methods(["GET", "POST"])
@keepers_only
def tree_fact(request: HttpRequest, number: str, attribute: str) -> HttpResponse:
    tree = get_object_or_404(trees_for(request.user), number=number)
    return _state(request, tree, attribute)


def _state(request: HttpRequest, about: Subject, name: str) -> HttpResponse:
    """First what a value would change is shown; the second button keeps it."""
    if name not in ATTRIBUTES:
        raise Http404("There is no such question.")
    asked, content = ATTRIBUTES[name], {}
    form = FactForm(request.POST or None, attribute=asked, user=request.user)
    if form.is_valid():
        said = {"by": request.user, "on": timezone.localdate()}
        stated = {**said, **_subject(about), **form.stated()}
        try:
            if KEEP in request.POST:
                state_fact(**stated)
                messages.success(request, f"{asked.label}: your value is kept.")
                return redirect(page_url(about))
            fact = own_fact(**stated)
        except ValidationError as refusal:
            form.add_error(None, refusal.messages)
        else:
            change = FactChange(put_in=fact)
            content = {
                "fact": _as_its_own(fact, about),
                "preview": preview(change, request.user, timezone.now()),
            }
    content |= {
        "form": form,
        "asked": asked,
        "standing": _facts(about).all(name),
        **_described(about),
    }
    return render(request, "web/fact_form.html", content)


@require_http_methods(["GET", "POST"])
@keepers_only
def fact_withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    facts = TaxonFact.objects.select_related("taxon", "tree__taxon", "by")
    fact = get_object_or_404(facts, pk=pk, kind=Evidence.OWN)
    about = _about(fact)
    if fact.withdrawn_on:
        messages.info(request, "That value was taken back before.")
        return redirect(page_url(about))
    form = WithdrawForm(request.POST or None)
    is_answered = form.is_valid()
    if is_answered and KEEP in request.POST:
        return _taken_back(request, fact, form.cleaned_data["reason"])
    content = {"form": form, "fact": _as_its_own(fact, about), **_described(about)}
    if is_answered:
        change = FactChange(taken_out=fact)
        content["preview"] = preview(change, request.user, timezone.now())
    return render(request, "web/fact_withdraw.html", content)


def _taken_back(request: HttpRequest, fact: TaxonFact, reason: str) -> HttpResponse:
    """Another press may have been quicker: then its word stands, and is shown."""
    try:
        withdraw_fact(
            fact=fact, reason=reason, on=timezone.localdate(), by=request.user
        )
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
    else:
        label = label_of(fact.attribute)
        messages.success(request, f"{label}: your value is taken back.")
    return redirect(page_url(_about(fact)))


def _about(fact: TaxonFact) -> Subject:
    about = fact.tree or fact.taxon
    if about is None:
        raise Http404("A value of a whole habit is not taken back here.")
    return about


def _subject(about: Subject) -> dict[str, Subject]:
    return {"tree": about} if isinstance(about, Tree) else {"taxon": about}


def _as_its_own(fact: TaxonFact, about: Subject) -> TaxonFact:
    """As it reads on the page of the very tree, taxon or genus it speaks of."""
    return fact if isinstance(about, Tree) else fact.read_for(about)


def _facts(about: Subject) -> Facts:
    if isinstance(about, Tree):
        return facts_of_trees([about])[about.pk]
    return facts_of([about.pk])[about.pk]


def _described(about: Subject) -> dict[str, object]:
    """Of whom a page of one fact speaks, for its head and its way back."""
    return {
        "tree": about if isinstance(about, Tree) else None,
        "taxon": about.taxon if isinstance(about, Tree) else about,
        "back_url": page_url(about),
    }
