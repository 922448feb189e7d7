"""What charts are drawn from, the charts of a frame, and winters laid over another."""

from typing import Any
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import cache_control
from django.views.decorators.http import conditional_page, require_safe

from wintering.climate.models import Sensor
from wintering.climate.queries import sensors_for
from wintering.frames.queries import frames_for
from wintering.science.counters import FREEZE_C, THAW_C
from wintering.web.charts.columns import picture_of
from wintering.web.charts.giving import as_data
from wintering.web.forms.charts import ChartForm, StretchForm
from wintering.web.frame_climate import FrameRangeForm, frame_climate
from wintering.web.sensor_page import STILL_COLUMNS
from wintering.web.views import staff_only
from wintering.web.winters_page import alike, laid_over, whole, winters_of, winters_page


@require_safe
@staff_only
@cache_control(private=True, no_cache=True)
@conditional_page
def chart_data(request: HttpRequest) -> HttpResponse:
    """Sensors of one frame over some time; asked again it is only said 'unchanged'."""
    form = ChartForm(request.GET, user=request.user)
    if not form.is_valid():
        return _refused(form)
    told = form.cleaned_data
    picture = picture_of(
        told["sensors"],
        told["start"],
        told["end"],
        points=form.points,
        user=request.user,
    )
    return JsonResponse(as_data(picture))


@require_safe
@staff_only
def climate_of_frame(request: HttpRequest, slug: str) -> HttpResponse:
    frame = get_object_or_404(frames_for(request.user), slug=slug)
    sensors = list(sensors_for(request.user).filter(frame=frame, is_min_max=False))
    form = FrameRangeForm(request.GET or None, sensors=sensors)
    page = frame_climate(frame, form, timezone.now(), request.user)
    content = {"frame": frame, "form": form, "page": page, "sensors": sensors}
    return render(request, "web/climate_frame.html", content)


@require_safe
@staff_only
def sensor_winters(request: HttpRequest, pk: int) -> HttpResponse:
    sensor = get_object_or_404(sensors_for(request.user), pk=pk)
    everywhere = request.GET.get("by") == "microclimate"
    told = winters_of(sensor, everywhere=everywhere)
    page = winters_page(told, points=STILL_COLUMNS, user=request.user)
    query = "?by=microclimate" if everywhere else ""
    content = {
        "sensor": sensor,
        "page": page,
        "is_temperature": sensor.quantity == Sensor.Quantity.TEMPERATURE,
        "everywhere": everywhere,
        "others": len(alike(sensor)) - 1,
        "url": reverse("web:winters-data", args=[pk]) + query,
        "reach": whole(told[0], page.picture.zone) if page.picture else None,
        "freeze_c": FREEZE_C,
        "thaw_c": THAW_C,
    }
    return render(request, "web/climate_compare.html", content)


@require_safe
@staff_only
@cache_control(private=True, no_cache=True)
@conditional_page
def winters_data(request: HttpRequest, pk: int) -> HttpResponse:
    sensor = get_object_or_404(sensors_for(request.user), pk=pk)
    form = StretchForm(request.GET)
    told = winters_of(sensor, everywhere=request.GET.get("by") == "microclimate")
    if not told:
        return JsonResponse({"error": "No winter has a reading yet."}, status=400)
    if not form.is_valid():
        return _refused(form)
    start_s, end_s = _within_winter(form.cleaned_data, told)
    picture = laid_over(told, start_s, end_s, points=form.points, user=request.user)
    return JsonResponse(as_data(picture))


def _within_winter(asked: dict[str, Any], told: list[Any]) -> tuple[int, int]:
    """Days of another winter are none of this one's."""
    zone = ZoneInfo(told[0].sensor.frame.time_zone)
    first, end = whole(told[0], zone)
    start_s = min(max(asked["start"], first), end - 1)
    return start_s, max(min(asked["end"], end), start_s + 1)


def _refused(form: StretchForm) -> HttpResponse:
    return JsonResponse({"error": form.refusal}, status=400)
