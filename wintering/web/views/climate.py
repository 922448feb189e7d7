"""Sensors and what they measured."""

from collections.abc import Iterator
from datetime import UTC, datetime

from django.core.exceptions import ValidationError
from django.db import transaction
from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from wintering.climate.models import Sensor
from wintering.climate.queries import (
    Latest,
    latest,
    log_imports_for,
    readings,
    sensors_for,
)
from wintering.climate.services import place_sensor
from wintering.frames.queries import frames_for
from wintering.people.services import record
from wintering.science.series import Quality
from wintering.web.forms.climate import RangeForm, SensorForm
from wintering.web.sensor_page import Window, sensor_page, unit_of, window_of
from wintering.web.sensor_words import sensor_words
from wintering.web.views import keepers_only, staff_only

IMPORTS_SHOWN = 10


@require_safe
@staff_only
def climate(request: HttpRequest) -> HttpResponse:
    frames = list(frames_for(request.user))
    sensors = list(sensors_for(request.user))
    last = latest(sensors, timezone.now())
    content = {
        "frames": [(frame, _rows(sensors, last, frame.pk)) for frame in frames],
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
        "page": sensor_page(sensor, window, timezone.now()),
        "latest": latest([sensor], timezone.now()).get(sensor.pk),
        "reads_in": unit_of(sensor),
        "query": request.GET.urlencode(),
        "words": sensor_words(sensor, window.start, window.end),
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
def sensor_readings(request: HttpRequest, pk: int) -> StreamingHttpResponse:
    """The readings of the days shown, marked ones too, as a CSV file."""
    sensor = get_object_or_404(sensors_for(request.user), pk=pk)
    _, window = _asked(request, sensor)
    name = f"{sensor.frame.slug}-sensor-{sensor.pk}-{window.since}-{window.last_day}"
    answer = StreamingHttpResponse(
        _csv_lines(sensor, window), content_type="text/csv; charset=utf-8"
    )
    answer["Content-Disposition"] = f'attachment; filename="{name}.csv"'
    return answer


def _rows(
    sensors: list[Sensor], last: dict[int, Latest], frame_pk: int
) -> list[tuple[Sensor, Latest | None]]:
    return [(s, last.get(s.pk)) for s in sensors if s.frame_id == frame_pk]


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


def _csv_lines(sensor: Sensor, window: Window) -> Iterator[str]:
    measured = readings(sensor, window.start, window.end)
    unit = "percent" if unit_of(sensor) == "%" else "c"
    yield f"at_utc,at_local,value_{unit},set_aside_because\r\n"
    for second, value, code in zip(
        measured.seconds.tolist(),
        measured.value.tolist(),
        measured.quality.tolist(),
        strict=True,
    ):
        at = datetime.fromtimestamp(second, UTC)
        local = at.astimezone(window.zone)
        reason = "" if code == Quality.GOOD else Quality(code).reason
        yield f'{at:%Y-%m-%dT%H:%M:%SZ},{local.isoformat()},{value:.3f},"{reason}"\r\n'
