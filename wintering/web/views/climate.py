"""Sensors and what they measured."""

from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import (
    HttpRequest,
    HttpResponse,
    HttpResponseRedirect,
    StreamingHttpResponse,
)
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from wintering.climate.models import Sensor
from wintering.climate.queries import (
    latest,
    log_imports_for,
    sensors_for,
)
from wintering.climate.queries.min_max import last_by_hand
from wintering.climate.services import place_sensor
from wintering.frames.queries import frames_for
from wintering.people.services import record
from wintering.web.exporting import csv_lines
from wintering.web.forms.climate import RangeForm, SensorForm
from wintering.web.frame_climate import FrameRangeForm, frame_window
from wintering.web.scales import scales_of
from wintering.web.sensor_page import sensor_page, unit_of
from wintering.web.sensor_words import sensor_words
from wintering.web.views import keepers_only, staff_only
from wintering.web.windows import Window, reach, window_of

IMPORTS_SHOWN = 10


@require_safe
@staff_only
def climate(request: HttpRequest) -> HttpResponse:
    frames = list(frames_for(request.user))
    sensors = list(sensors_for(request.user))
    now = timezone.now()
    thermometers = [s for s in sensors if s.is_min_max]
    last = latest(sensors, now)
    by_hand = last_by_hand(thermometers, now, put_away_too=True)
    scales = scales_of(sensors, request.user, timezone.localdate())
    rows = [(s, last.get(s.pk), by_hand.get(s.pk), scales[s.pk]) for s in sensors]
    content = {
        "frames": [
            (frame, [row for row in rows if row[0].frame_id == frame.pk])
            for frame in frames
        ],
        "count": len(sensors),
        "unplaced": [s for s in sensors if s.place == Sensor.Place.UNKNOWN],
        "imports": log_imports_for(request.user)[:IMPORTS_SHOWN],
    }
    return render(request, "web/climate.html", content)


@require_safe
@staff_only
def sensor_detail(request: HttpRequest, pk: int) -> HttpResponse:
    sensor = get_object_or_404(sensors_for(request.user), pk=pk)
    form, window = _asked(request, sensor)
    content = {
        "sensor": sensor,
        "form": form,
        "page": sensor_page(sensor, window, timezone.now(), request.user),
        "reach": reach(sensor.days.all(), window),
        "latest": latest([sensor], timezone.now()).get(sensor.pk),
        "reads_in": unit_of(sensor),
        "key": str(sensor.pk),
        "query": request.GET.urlencode(),
        "words": sensor_words(sensor, window.start, window.end, now=timezone.now()),
    }
    return render(request, "web/sensor_detail.html", content)


@require_http_methods(["GET", "POST"])
@keepers_only
def sensor_edit(request: HttpRequest, pk: int) -> HttpResponse:
    sensor = get_object_or_404(sensors_for(request.user), pk=pk)
    form = SensorForm(
        request.POST or None, instance=Sensor.objects.select_related("frame").get(pk=pk)
    )
    if form.is_valid():
        try:
            _save(request, form, sensor)
        except ValidationError as refusal:
            sensor.refresh_from_db()
            form.add_error(None, refusal)
        else:
            return redirect("web:sensor-detail", sensor.pk)
    return render(request, "web/sensor_form.html", {"form": form, "sensor": sensor})


@require_safe
@staff_only
def sensor_readings(
    request: HttpRequest, pk: int
) -> StreamingHttpResponse | HttpResponseRedirect:
    """The readings of the days shown, marked ones too, as a CSV file."""
    sensor = get_object_or_404(sensors_for(request.user), pk=pk)
    form, window = _asked(request, sensor)
    if form.errors:
        return _back_to(request, reverse("web:sensor-detail", args=[pk]))
    return _csv([sensor], window, f"{sensor.frame.slug}-sensor-{sensor.pk}")


@require_safe
@staff_only
def frame_readings(
    request: HttpRequest, slug: str
) -> StreamingHttpResponse | HttpResponseRedirect:
    """The same of the chosen sensors of a frame, one after the other."""
    frame = get_object_or_404(frames_for(request.user), slug=slug)
    sensors = list(sensors_for(request.user).filter(frame=frame, is_min_max=False))
    form = FrameRangeForm(request.GET or None, sensors=sensors)
    if form.errors:
        return _back_to(request, reverse("web:climate-of-frame", args=[slug]))
    return _csv(form.chosen, frame_window(frame, form, timezone.now()), frame.slug)


def _back_to(request: HttpRequest, page: str) -> HttpResponseRedirect:
    """To the page whose form says what is refused; nothing else is exported instead."""
    return HttpResponseRedirect(f"{page}?{request.GET.urlencode()}")


def _csv(sensors: list[Sensor], window: Window, name: str) -> StreamingHttpResponse:
    answer = StreamingHttpResponse(
        csv_lines(sensors, window), content_type="text/csv; charset=utf-8"
    )
    file = f"{name}-{window.since}-{window.last_day}.csv"
    answer["Content-Disposition"] = f'attachment; filename="{file}"'
    return answer


def _asked(request: HttpRequest, sensor: Sensor) -> tuple[RangeForm, Window]:
    form = RangeForm(request.GET if "range" in request.GET else None)
    window = window_of(form, sensor, timezone.now())
    return form, window


@transaction.atomic
def _save(request: HttpRequest, form: SensorForm, sensor: Sensor) -> None:
    place_sensor(
        sensor=sensor,
        place=form.cleaned_data["place"],
        microclimate=form.cleaned_data["microclimate"],
        by=request.user,
    )
    if "name" in form.changed_data:
        sensor.name = form.cleaned_data["name"]
        sensor.full_clean()
        sensor.save(update_fields=["name"])
        record(request.user, "named", sensor, name=sensor.name)
