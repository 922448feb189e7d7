"""Giving a tree its place: on the plan, from a list, or by a typed label."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.views.decorators.http import require_http_methods

from wintering.frames.models import Frame
from wintering.frames.queries import frames_for
from wintering.stays.queries import Place, places_of
from wintering.stays.services import place_tree
from wintering.trees.models import Tree
from wintering.trees.queries import trees_for
from wintering.web.forms.places import LookForm, PlaceForm
from wintering.web.placing import look
from wintering.web.views import staff_only


@require_http_methods(["GET", "POST"])
@staff_only
def tree_place(request: HttpRequest, number: str) -> HttpResponse:
    tree = get_object_or_404(trees_for(request.user), number=number)
    places = places_of([tree]).get(tree.pk, [])
    here = next((place for place in places if place.until is None), None)
    frame = _frame(request, here)
    if frame is None:
        return render(request, "web/tree_place_nowhere.html", {"tree": tree})
    looked = LookForm(request.POST or request.GET, frame=frame)
    form = PlaceForm(request.POST or None, frame=frame, initial=_initial(request))
    if form.is_valid() and _placed(request, form, tree):
        return redirect("web:tree-detail", tree.number)
    on = parse_date(str(form["on"].value() or "")) or timezone.localdate()
    content = {
        "tree": tree,
        "frame": frame,
        "frames": frames_for(request.user),
        "here": here,
        "stood": places[::-1],
        "looked": looked,
        "form": form,
        "choice": look(tree, frame, looked.chosen(), on),
    }
    return render(request, "web/tree_place.html", content)


def _frame(request: HttpRequest, here: Place | None) -> Frame | None:
    """The frame asked for; else where the tree stands; else the first there is."""
    frames = frames_for(request.user)
    slug = request.GET.get("frame", "")
    if slug:
        return get_object_or_404(frames, slug=slug)
    return here.frame if here else frames.first()


def _initial(request: HttpRequest) -> dict[str, str]:
    """What was typed before another place was chosen."""
    today = timezone.localdate().isoformat()
    return {
        "on": request.GET.get("on") or today,
        "reason": request.GET.get("reason", ""),
    }


def _placed(request: HttpRequest, form: PlaceForm, tree: Tree) -> bool:
    modules = list(form.cleaned_data["module"])
    try:
        place_tree(
            tree=tree,
            modules=modules,
            on=form.cleaned_data["on"],
            reason=form.cleaned_data["reason"],
            by=request.user,
        )
    except ValidationError as refusal:
        form.add_error(None, refusal.messages)
        return False
    where = ", ".join(module.label for module in modules)
    messages.success(request, f"{tree.number} stands at {where}.")
    return True
