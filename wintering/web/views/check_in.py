"""Taking a tree in: one page that a phone in the yard can hold."""

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from wintering.clients.models import Client
from wintering.clients.queries import clients_for
from wintering.science.winter import Winter
from wintering.stays.models import Stay
from wintering.stays.queries import stays_for, trees_in_care
from wintering.trees.models import Tree
from wintering.trees.queries import trees_for
from wintering.web.check_in import CheckIn, KnownTreeCheckIn, NewTreeCheckIn
from wintering.web.drafts import Draft, open_draft
from wintering.web.forms.check_in import CHOICES_SHOWN
from wintering.web.views import staff_only


@require_http_methods(["GET", "POST"])
@staff_only
def check_in(request: HttpRequest) -> HttpResponse:
    draft = open_draft(request.session, request.POST.get("draft", ""))
    if draft.done:
        return redirect("web:check-in-done", draft.done)
    typed = _typed(request)
    if request.method == "POST":
        stay = _taken_in(typed, draft)
        if stay:
            return redirect("web:check-in-done", stay.pk)
    content = {
        "check_in": typed,
        **typed.parts,
        "draft": draft,
        "clients": clients_for(request.user),
        "found": _known_trees(request),
        "number": request.GET.get("known", ""),
    }
    return render(request, "web/check_in.html", content)


@require_safe
@staff_only
def check_in_done(request: HttpRequest, pk: int) -> HttpResponse:
    stay = get_object_or_404(stays_for(request.user), pk=pk)
    agreed = stay.client.agreements.filter(winter=stay.winter).exists()
    content = {"stay": stay, "winter": Winter(stay.winter), "is_agreed": agreed}
    return render(request, "web/check_in_done.html", content)


def _typed(request: HttpRequest) -> CheckIn:
    typed = request.POST if request.method == "POST" else None
    what = {"by": request.user, "typed": typed, "files": request.FILES or None}
    number = request.GET.get("tree", "")
    if number:
        tree = get_object_or_404(_away(request), number=number)
        return KnownTreeCheckIn(tree=tree, **what)
    return NewTreeCheckIn(owner=_owner(request), **what)


def _taken_in(typed: CheckIn, draft: Draft) -> Stay | None:
    is_valid = typed.is_valid()
    photo = typed.typed["photo"].get("photo")
    if photo:
        draft.keep_photo(photo)
    if not is_valid:
        return None
    kept = draft.open_photo()
    stay = typed.save(kept)
    if kept:
        kept.close()
    if stay:
        draft.finish(stay.pk)
    return stay


def _owner(request: HttpRequest) -> Client | None:
    pk = request.GET.get("client", "")
    return clients_for(request.user).filter(pk=pk).first() if pk.isdigit() else None


def _away(request: HttpRequest) -> QuerySet[Tree]:
    """Clients' trees that have been here and are not now."""
    here = trees_in_care(timezone.localdate())
    trees = trees_for(request.user).exclude(owner=None)
    return trees.exclude(pk__in=here.values("pk"))


def _known_trees(request: HttpRequest) -> list[Tree]:
    typed = request.GET.get("known", "").strip()
    return list(_away(request).named_like(typed)[:CHOICES_SHOWN]) if typed else []
