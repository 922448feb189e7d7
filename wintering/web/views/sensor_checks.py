"""Checks of a sensor in ice: ten readings, an offset, and taking one back."""

from typing import Any
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from wintering.climate.models import Sensor
from wintering.climate.queries import sensors_for
from wintering.climate.queries.checks import OwnTen, checks_for, last_check, own_ten
from wintering.climate.services.checks import check_in_ice, withdraw_check
from wintering.science.ice_bath import IceBath, drift_k, ice_bath
from wintering.web.forms.clocks import on_the_clock
from wintering.web.forms.sensor_words import SHOWN, IceForm, TakeBackForm
from wintering.web.views import keepers_only


@require_http_methods(["GET", "POST"])
@keepers_only
def sensor_ice(request: HttpRequest, pk: int) -> HttpResponse:
    sensors = sensors_for(request.user).filter(
        quantity=Sensor.Quantity.TEMPERATURE, is_min_max=False
    )
    sensor = get_object_or_404(sensors, pk=pk)
    with timezone.override(ZoneInfo(sensor.frame.time_zone)):
        return _ice(request, sensor)


def _ice(request: HttpRequest, sensor: Sensor) -> HttpResponse:
    own = own_ten(sensor, timezone.now())
    form = IceForm(
        request.POST or _filled(request, own), sensor=sensor, initial=_initial()
    )
    content: dict[str, Any] = {"sensor": sensor, "form": form, "own": own}
    if form.is_valid():
        bath = ice_bath(form.shown_c)
        if "save" in request.POST and _saved(request, sensor, form):
            return redirect("web:sensor-detail", sensor.pk)
        content |= {"bath": bath, "drift_k": _drift(sensor, bath)}
    return render(request, "web/sensor_ice.html", content)


@require_http_methods(["GET", "POST"])
@keepers_only
def check_withdraw(request: HttpRequest, pk: int) -> HttpResponse:
    check = get_object_or_404(checks_for(request.user), pk=pk)
    form = TakeBackForm(request.POST or None)
    if form.is_valid():
        try:
            withdraw_check(check=check, by=request.user, **form.cleaned_data)
        except ValidationError as refusal:
            messages.error(request, " ".join(refusal.messages))
        else:
            messages.success(request, "The check is taken back; it stays on record.")
        return redirect("web:sensor-detail", check.sensor_id)
    earlier = check.sensor.checks.filter(
        checked_at__lt=check.checked_at, withdrawn_at=None
    )
    content = {"check": check, "form": form, "has_earlier": earlier.exists()}
    return render(request, "web/check_withdraw.html", content)


def _saved(request: HttpRequest, sensor: Sensor, form: IceForm) -> bool:
    at, note = form.cleaned_data["at"], form.cleaned_data["note"]
    try:
        check = check_in_ice(
            sensor=sensor, shown=form.shown, at=at, note=note, by=request.user
        )
    except ValidationError as refusal:
        form.add_error(None, refusal.messages)
        return False
    messages.success(
        request,
        f"Checked in ice: {check.offset_k:+.2f} K is taken off from "
        f"{timezone.localtime(at):%H:%M} on.",
    )
    return True


def _filled(request: HttpRequest, own: OwnTen | None) -> dict[str, str] | None:
    """The form as the sensor's own readings fill it in."""
    if own is None or "own" not in request.GET:
        return None
    shown = {name: f"{value:g}" for name, value in zip(SHOWN, own.shown, strict=True)}
    return {"at": on_the_clock(own.last_at), **shown}


def _initial() -> dict[str, object]:
    return {"at": timezone.localtime().replace(second=0, microsecond=0)}


def _drift(sensor: Sensor, bath: IceBath) -> float | None:
    before = last_check(sensor)
    return None if before is None else drift_k(bath.offset_k, before.offset_k)
