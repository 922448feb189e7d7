"""Thermometers that people read: entering one, reading it, taking a reading back."""

from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from wintering.climate.models import MinMaxEntry, Sensor
from wintering.climate.queries.min_max import (
    min_max_entries_for,
    thermometers_for,
)
from wintering.climate.services import add_sensor
from wintering.climate.services.min_max import (
    LookAgain,
    SavedBefore,
    record_min_max,
    withdraw_min_max,
)
from wintering.frames.queries import frames_for
from wintering.web.by_hand import as_written, last_lines, starts_from
from wintering.web.forms.by_hand import MinMaxForm, ThermometerForm
from wintering.web.views import keepers_only, staff_only


@require_http_methods(["GET", "POST"])
@staff_only
def thermometer_read(request: HttpRequest) -> HttpResponse:
    thermometers = list(thermometers_for(request.user).order_by("frame", "name"))
    if not thermometers:
        frames = frames_for(request.user)
        return render(request, "web/thermometer_none.html", {"frames": frames})
    sensor = _chosen(request, thermometers)
    newest = sensor.min_max_entries.order_by("-recorded_at").first()
    form = MinMaxForm(
        request.POST or None, thermometer=sensor, initial=starts_from(sensor)
    )
    asked: list[Any] = []
    is_long_ago = False
    if form.is_valid():
        try:
            entry = record_min_max(sensor=sensor, by=request.user, **form.reading)
        except LookAgain as again:
            asked, is_long_ago = again.asked, again.is_long_ago
        except ValidationError as refusal:
            form.add_error(None, refusal.messages)
            if isinstance(refusal, SavedBefore):
                form.as_another()
        else:
            messages.success(request, f"Recorded. {as_written(entry)}.")
            return redirect("web:today")
    content = {"sensor": sensor, "form": form, "thermometers": thermometers}
    content |= {"asked": asked, "is_long_ago": is_long_ago, "newest": newest}
    content["last"] = next(iter(last_lines([sensor], timezone.now())), None)
    return render(request, "web/thermometer_read.html", content)


@require_http_methods(["GET", "POST"])
@keepers_only
def thermometer_add(request: HttpRequest, slug: str) -> HttpResponse:
    frame = get_object_or_404(frames_for(request.user), slug=slug)
    form = ThermometerForm(request.POST or None, frame=frame)
    if form.is_valid():
        try:
            sensor = add_sensor(
                frame=frame, by=request.user, is_min_max=True, **form.cleaned_data
            )
        except ValidationError as refusal:
            form.add_error(None, refusal)
        else:
            messages.success(request, f"{sensor.name} is entered: read it now.")
            return redirect(_address(sensor))
    content = {"form": form, "frame": frame}
    return render(request, "web/thermometer_form.html", content)


@require_POST
@staff_only
def min_max_withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    """A helper takes back what they read themselves, a keeper whatever was read."""
    entry = get_object_or_404(min_max_entries_for(request.user), pk=pk)
    if not request.user.is_keeper and entry.by_id != request.user.pk:
        raise Http404("There is no such reading.")
    try:
        withdraw_min_max(entry=entry, by=request.user)
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
    else:
        messages.success(request, _taken_back(entry))
    return redirect("web:sensor-detail", entry.sensor_id)


def _taken_back(entry: MinMaxEntry) -> str:
    read = f"{timezone.localtime(entry.read_at):%H:%M}"
    return f"The reading of {read} is taken back; it stays on record."


def _chosen(request: HttpRequest, thermometers: list[Sensor]) -> Sensor:
    asked = request.GET.get("thermometer", "")
    frame = request.GET.get("frame", "")
    if asked:
        found = [one for one in thermometers if str(one.pk) == asked]
        if not found:
            raise Http404("There is no such thermometer.")
        return found[0]
    here = [one for one in thermometers if one.frame.slug == frame]
    return (here or thermometers)[0]


def _address(sensor: Sensor) -> str:
    return f"{reverse('web:thermometer-read')}?thermometer={sensor.pk}"
