"""Sheets and labels as files to print."""

from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.cache import patch_cache_control
from django.views.decorators.http import require_safe

from wintering.frames.queries import frames_for
from wintering.printing.labels import tree_label
from wintering.printing.papers import Paper
from wintering.printing.sheets import bench_sheet, limits_on
from wintering.stays.queries import frame_plan
from wintering.trees.queries import trees_for


@require_safe
def bench_sheet_pdf(request: HttpRequest, slug: str) -> HttpResponse:
    frame = get_object_or_404(frames_for(request.user), slug=slug)
    plan = frame_plan(frame, timezone.localdate())
    try:
        sheet = bench_sheet(
            plan,
            limits=limits_on(plan),
            made_at=timezone.now().replace(microsecond=0),
            paper=_paper(request),
        )
    except ValidationError as refusal:
        return _refused(refusal)
    return _pdf(sheet.content, f"bench-sheet-{frame.slug}-{plan.on}.pdf")


@require_safe
def tree_label_pdf(request: HttpRequest, number: str) -> HttpResponse:
    tree = get_object_or_404(trees_for(request.user), number=number)
    try:
        label = tree_label(
            tree,
            address=request.build_absolute_uri(tree.get_absolute_url()),
            made_at=timezone.now().replace(microsecond=0),
            time_zone=timezone.get_current_timezone_name(),
            paper=_paper(request),
        )
    except ValidationError as refusal:
        return _refused(refusal)
    return _pdf(label.content, f"label-{tree.number}.pdf")


def _paper(request: HttpRequest) -> Paper:
    asked = request.GET.get("paper", Paper.A4)
    if asked not in set(Paper):
        raise ValidationError("There are two papers: ?paper=a4 and ?paper=letter.")
    return Paper(asked)


def _refused(refusal: ValidationError) -> HttpResponse:
    text = "\n".join(refusal.messages)
    return HttpResponse(text, status=400, content_type="text/plain; charset=utf-8")


def _pdf(content: bytes, name: str) -> HttpResponse:
    response = HttpResponse(content, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}"'
    # Where trees stand and whose they are is nobody else's business.
    patch_cache_control(response, private=True, no_store=True)
    return response
