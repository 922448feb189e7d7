"""A keeper's word on a span of readings: what it would change, and giving it."""

from typing import Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from wintering.climate.models import Sensor
from wintering.climate.queries import sensors_for
from wintering.climate.queries.verdicts import WhatChanges, verdicts_for, what_changes
from wintering.climate.services.verdicts import give_verdict, withdraw_verdict
from wintering.science.screening import REACHED
from wintering.web.forms.sensor_words import VerdictForm
from wintering.web.views import keepers_only


@require_http_methods(["GET", "POST"])
@keepers_only
def sensor_verdict(request: HttpRequest, pk: int) -> HttpResponse:
    sensors = sensors_for(request.user).filter(is_min_max=False)
    sensor = get_object_or_404(sensors, pk=pk)
    # A span is told by the frame's own clock, as on the sensor's page.
    with timezone.override(ZoneInfo(sensor.frame.time_zone)):
        return _verdict(request, sensor)


def _verdict(request: HttpRequest, sensor: Sensor) -> HttpResponse:
    is_saving = "save" in request.POST
    # What changes is looked at before; a marked span's link brings its ends along.
    asked = request.POST or (request.GET if "start_at" in request.GET else None)
    form = VerdictForm(asked, is_saving=is_saving)
    content: dict[str, Any] = {"sensor": sensor, "form": form, "reached": REACHED}
    if form.is_valid():
        if is_saving and _said(request, sensor, form):
            return redirect("web:sensor-detail", sensor.pk)
        content["changes"] = _changes(sensor, form)
    return render(request, "web/sensor_verdict.html", content)


@require_POST
@keepers_only
def verdict_withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    verdict = get_object_or_404(verdicts_for(request.user), pk=pk)
    try:
        withdraw_verdict(verdict=verdict, by=request.user)
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
    else:
        messages.success(request, "Taken back: the checks decide again.")
    return redirect("web:sensor-detail", verdict.sensor_id)


def _said(request: HttpRequest, sensor: Sensor, form: VerdictForm) -> bool:
    try:
        verdict = give_verdict(sensor=sensor, by=request.user, **form.cleaned_data)
    except ValidationError as refusal:
        form.add_error(None, refusal.messages)
        return False
    done = "count" if verdict.counts else "are set aside"
    messages.success(request, f"These readings {done} from now on.")
    return True


def _changes(sensor: Sensor, form: VerdictForm) -> WhatChanges | None:
    start, end = form.span["start_at"], form.span["end_at"]
    if end <= start:
        form.add_error("end_at", "The span must end after it begins.")
        return None
    return what_changes(sensor, start, end, counts=form.cleaned_data["counts"])
