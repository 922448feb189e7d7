"""Rounds: what is due, a round being written down, rounds that were walked."""

from datetime import timedelta

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from wintering.care.models import Round
from wintering.care.queries import reasons_not_to_water, rounds_for, watering_due
from wintering.care.services import record_check, record_round
from wintering.frames.models import Frame
from wintering.frames.queries import frames_for
from wintering.trees.queries import bud_stages_of, trees_for
from wintering.web.drafts import Draft, open_draft
from wintering.web.forms.rounds import CheckForm, RoundForm
from wintering.web.views import staff_only
from wintering.web.walking import BenchStops, due_groups, noted, refused, route

ROUNDS_SHOWN = 30
# What falls due within a week is shown ahead.
AHEAD = timedelta(days=7)


@require_safe
@staff_only
def round_list(request: HttpRequest) -> HttpResponse:
    frames = list(frames_for(request.user))
    today = timezone.localdate()
    checks = watering_due(frames, today)
    due = [check for check in checks if check.due_on <= today]
    coming = [c for c in checks if today < c.due_on <= today + AHEAD]
    content = {
        "frames": frames,
        "due_count": len(due),
        "due": due_groups(due),
        "coming": due_groups(coming),
        "rounds": rounds_for(request.user)[:ROUNDS_SHOWN],
    }
    return render(request, "web/round_list.html", content)


@require_safe
@staff_only
def round_detail(request: HttpRequest, pk: int) -> HttpResponse:
    walked = get_object_or_404(rounds_for(request.user), pk=pk)
    observations = walked.observations.select_related("tree__taxon", "tree__owner")
    noted = list(observations.order_by("tree__serial"))
    day = timezone.localdate(walked.at)
    buds = bud_stages_of([one.tree for one in noted], since=day, until=day)
    content = {
        "round": walked,
        "noted": [(one, buds.get(one.tree_id)) for one in noted],
        "watered": set(walked.waterings.values_list("tree_id", flat=True)),
    }
    return render(request, "web/round_detail.html", content)


@require_http_methods(["GET", "POST"])
@staff_only
def round_new(request: HttpRequest) -> HttpResponse:
    frame = _frame(request)
    if frame is None:
        return redirect("web:frame-list")
    draft = open_draft(request.session, request.POST.get("draft", ""))
    if draft.done:
        return redirect("web:round-detail", draft.done)
    form = RoundForm(request.POST or None, initial={"at": _now()})
    way = route(
        frame,
        timezone.now(),
        request.POST or None,
        is_rest_checked=bool(form["is_rest_checked"].data),
    )
    walked = _recorded(request, form, frame, way, draft)
    if walked:
        return redirect("web:round-detail", walked.pk)
    content = {"frame": frame, "form": form, "way": way, "draft": draft}
    content["refused"] = refused(way)
    content["frames"] = frames_for(request.user)
    content["count"] = sum(len(bench.stops) for bench in way)
    content["due"] = sum(_is_due(stop) for bench in way for stop in bench.stops)
    return render(request, "web/round_new.html", content)


@require_http_methods(["GET", "POST"])
@staff_only
def tree_check(request: HttpRequest, number: str) -> HttpResponse:
    tree = get_object_or_404(trees_for(request.user), number=number)
    form = CheckForm(request.POST or None, initial={"at": _now()})
    if form.is_valid():
        try:
            record_check(
                seen=form.seen(tree), at=form.cleaned_data["at"], by=request.user
            )
        except ValidationError as refusal:
            form.add_error(None, refusal.messages)
        else:
            messages.success(request, f"{tree.number} is checked.")
            return redirect("web:tree-detail", tree.number)
    warnings = reasons_not_to_water([tree], timezone.now())[tree.pk]
    content = {"tree": tree, "form": form, "warnings": warnings}
    return render(request, "web/tree_check.html", content)


def _recorded(
    request: HttpRequest,
    form: RoundForm,
    frame: Frame,
    way: list[BenchStops],
    draft: Draft,
) -> Round | None:
    if not form.is_bound:
        return None
    seen = noted(way)
    if not form.is_valid() or seen is None:
        return None
    if not seen and not form.cleaned_data["is_rest_checked"]:
        form.add_error(
            "is_rest_checked",
            "Nothing is noted yet: say what you found, or tick that all was checked.",
        )
        return None
    try:
        walked = record_round(
            frame=frame, seen=seen, by=request.user, **form.cleaned_data
        )
    except ValidationError as refusal:
        form.add_error(None, refusal.messages)
        return None
    draft.finish(walked.pk)
    return walked


def _frame(request: HttpRequest) -> Frame | None:
    frames = frames_for(request.user)
    slug = request.GET.get("frame", "")
    return get_object_or_404(frames, slug=slug) if slug else frames.first()


def _now() -> object:
    return timezone.localtime().replace(second=0, microsecond=0)


def _is_due(stop: object) -> bool:
    return bool(stop.due and stop.due.due_on <= timezone.localdate())
