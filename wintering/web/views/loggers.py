"""Loggers that send by themselves: their tokens, and which sensors they are."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import (
    require_http_methods,
    require_POST,
    require_safe,
)

from wintering.climate.models import Logger
from wintering.climate.queries.loggers import loggers_for, sensors_for_channel
from wintering.climate.services.loggers import (
    add_logger,
    choose_sensor,
    end_logger,
    renew_token,
)
from wintering.frames.queries import frames_for
from wintering.web.forms.loggers import ChannelForm, LoggerForm
from wintering.web.views import keepers_only, staff_only


@require_safe
@staff_only
def logger_list(request: HttpRequest) -> HttpResponse:
    loggers = loggers_for(request.user).prefetch_related("channels__sensor")
    content = {
        "in_use": loggers.filter(ended_at=None),
        "ended": loggers.exclude(ended_at=None),
        "has_frames": frames_for(request.user).exists(),
    }
    return render(request, "web/logger_list.html", content)


@require_http_methods(["GET", "POST"])
@keepers_only
def logger_add(request: HttpRequest) -> HttpResponse:
    form = LoggerForm(request.POST or None, frames=frames_for(request.user))
    if form.is_valid():
        try:
            logger, token = add_logger(
                by=request.user, at=timezone.now(), **form.cleaned_data
            )
        except ValidationError as refusal:
            form.add_error(None, refusal.messages)
        else:
            return _shown_once(request, logger, token)
    return render(request, "web/logger_form.html", {"form": form})


@require_safe
@staff_only
def logger_detail(request: HttpRequest, pk: int) -> HttpResponse:
    logger = get_object_or_404(loggers_for(request.user), pk=pk)
    channels = logger.channels.select_related("sensor")
    content = {"logger": logger, "channels": channels, "address": _address(request)}
    return render(request, "web/logger_detail.html", content)


@require_POST
@keepers_only
def logger_token(request: HttpRequest, pk: int) -> HttpResponse:
    logger = get_object_or_404(loggers_for(request.user), pk=pk)
    try:
        token = renew_token(logger=logger, by=request.user)
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
        return redirect("web:logger-detail", logger.pk)
    return _shown_once(request, logger, token)


@require_http_methods(["GET", "POST"])
@keepers_only
def logger_end(request: HttpRequest, pk: int) -> HttpResponse:
    logger = get_object_or_404(loggers_for(request.user), pk=pk)
    if request.method == "POST":
        end_logger(logger=logger, by=request.user, at=timezone.now())
        messages.success(request, f"{logger.name} is out of use. Its readings stay.")
        return redirect("web:logger-list")
    return render(request, "web/logger_end.html", {"logger": logger})


@require_http_methods(["GET", "POST"])
@keepers_only
def channel_edit(
    request: HttpRequest, pk: int, channel_pk: int | None = None
) -> HttpResponse:
    logger = get_object_or_404(loggers_for(request.user), pk=pk)
    channels = logger.channels.select_related("sensor")
    channel = get_object_or_404(channels, pk=channel_pk) if channel_pk else None
    form = ChannelForm(
        request.POST or None,
        sensors=sensors_for_channel(logger, channel),
        is_known=channel is not None,
        initial={"sensor": channel.sensor_id} if channel else {},
    )
    if form.is_valid():
        name = channel.name if channel else form.cleaned_data["name"]
        sensor = form.cleaned_data["sensor"]
        try:
            choose_sensor(logger=logger, name=name, sensor=sensor, by=request.user)
        except ValidationError as refusal:
            form.add_error(None, refusal.messages)
        else:
            return redirect("web:logger-detail", logger.pk)
    content = {"logger": logger, "channel": channel, "form": form}
    return render(request, "web/logger_channel.html", content)


def _shown_once(request: HttpRequest, logger: Logger, token: str) -> HttpResponse:
    """The answer itself, not a page to be redirected to: the token is kept nowhere."""
    content = {
        "logger": logger,
        "token": token,
        "address": _address(request),
        "at": timezone.localtime().isoformat(timespec="seconds"),
        "is_safe": request.is_secure(),
    }
    response = render(request, "web/logger_token.html", content)
    response["Cache-Control"] = "no-store"
    response["Referrer-Policy"] = "no-referrer"
    return response


def _address(request: HttpRequest) -> str:
    return request.build_absolute_uri(reverse("api:readings"))
