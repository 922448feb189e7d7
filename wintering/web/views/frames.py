"""Frames: their layout, and what a keeper describes of them."""

from collections.abc import Callable
from typing import TypeVar
from zoneinfo import available_timezones

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from wintering.frames.models import Frame, Microclimate
from wintering.frames.queries import frames_for
from wintering.frames.services import (
    add_bench,
    add_fitting,
    add_frame,
    add_microclimate,
    change_frame,
)
from wintering.people.services import record
from wintering.web.forms.frames import (
    BenchForm,
    FittingForm,
    FrameChangeForm,
    FrameForm,
    MicroclimateForm,
)
from wintering.web.layouts import layout
from wintering.web.views import keepers_only, staff_only

Row = TypeVar("Row")


@require_safe
@staff_only
def frame_list(request: HttpRequest) -> HttpResponse:
    frames = frames_for(request.user).annotate(
        places=Count("benches__modules", distinct=True),
        sensors_there=Count("sensors", distinct=True),
    )
    return render(request, "web/frame_list.html", {"frames": frames})


@require_safe
def frame_detail(request: HttpRequest, slug: str) -> HttpResponse:
    frame = get_object_or_404(frames_for(request.user), slug=slug)
    chosen = request.GET.get("tree", "")
    content = {"layout": layout(frame, timezone.now(), chosen), "frame": frame}
    return render(request, "web/frame_detail.html", content)


@require_http_methods(["GET", "POST"])
@keepers_only
def frame_add(request: HttpRequest) -> HttpResponse:
    zone = request.user.time_zone or timezone.get_default_timezone_name()
    form = FrameForm(request.POST or None, initial={"time_zone": zone})
    frame = _added(form, lambda: add_frame(by=request.user, **form.cleaned_data))
    if frame:
        messages.success(request, f"{frame} is there. Now stand its benches in it.")
        return redirect("web:bench-add", frame.slug)
    content = {"form": form, "zones": sorted(available_timezones())}
    return render(request, "web/frame_form.html", content)


@require_http_methods(["GET", "POST"])
@keepers_only
def frame_edit(request: HttpRequest, slug: str) -> HttpResponse:
    frame = get_object_or_404(frames_for(request.user), slug=slug)
    # The form writes on a copy: the event needs what stood before.
    copy = get_object_or_404(frames_for(request.user), slug=slug)
    form = FrameChangeForm(request.POST or None, instance=copy)
    if _added(
        form, lambda: change_frame(frame=frame, by=request.user, **form.cleaned_data)
    ):
        _say_kept(request, frame)
        return redirect("web:frame-detail", slug)
    content = {"form": form, "frame": frame, "zones": sorted(available_timezones())}
    return render(request, "web/frame_form.html", content)


@require_http_methods(["GET", "POST"])
@keepers_only
def bench_add(request: HttpRequest, slug: str) -> HttpResponse:
    frame = get_object_or_404(frames_for(request.user), slug=slug)
    form = BenchForm(request.POST or None, frame=frame)
    bench = _added(
        form, lambda: add_bench(frame=frame, by=request.user, **form.ruling())
    )
    if bench:
        places = bench.modules.count()
        messages.success(request, f"Bench {bench} is there, ruled in {places} places.")
        return redirect("web:frame-detail", slug)
    return render(request, "web/bench_form.html", {"form": form, "frame": frame})


@require_http_methods(["GET", "POST"])
@keepers_only
def microclimate_add(request: HttpRequest, slug: str) -> HttpResponse:
    frame = get_object_or_404(frames_for(request.user), slug=slug)
    form = MicroclimateForm(request.POST or None, frame=frame)
    added = _added(
        form,
        lambda: add_microclimate(frame=frame, by=request.user, **form.cleaned_data),
    )
    if added:
        messages.success(request, f"Microclimate {added} is there.")
        return redirect("web:frame-detail", slug)
    return render(request, "web/microclimate_form.html", {"form": form, "frame": frame})


@require_http_methods(["GET", "POST"])
@keepers_only
def microclimate_edit(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    frame = get_object_or_404(frames_for(request.user), slug=slug)
    part = get_object_or_404(frame.microclimates, pk=pk)
    form = MicroclimateForm(request.POST or None, frame=frame, instance=part)
    if form.is_valid():
        form.save()
        record(request.user, "changed", part, fields=form.changed_data)
        _say_kept(request, part)
        return redirect("web:frame-detail", slug)
    content = {"form": form, "frame": frame, "microclimate": part}
    return render(request, "web/microclimate_form.html", content)


@require_http_methods(["GET", "POST"])
@keepers_only
def fitting_add(request: HttpRequest, slug: str) -> HttpResponse:
    frame = get_object_or_404(frames_for(request.user), slug=slug)
    form = FittingForm(request.POST or None)
    added = _added(
        form, lambda: add_fitting(frame=frame, by=request.user, **form.cleaned_data)
    )
    if added:
        messages.success(request, f"The {added.get_kind_display()} is on the plan.")
        return redirect("web:frame-detail", slug)
    return render(request, "web/fitting_form.html", {"form": form, "frame": frame})


def _say_kept(request: HttpRequest, row: Frame | Microclimate) -> None:
    messages.success(request, f"{row}: your changes are kept.")


def _added(form: forms.BaseForm, add: Callable[[], Row]) -> Row | None:
    """What the service made; None where form or service refuses."""
    if not form.is_valid():
        return None
    try:
        return add()
    except ValidationError as refusal:
        form.add_error(None, refusal)
        return None
