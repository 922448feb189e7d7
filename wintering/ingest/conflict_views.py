"""Values that differ from what is stored: both shown, and the keeper's choice."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from wintering.climate.models import LogImport, Sensor
from wintering.climate.queries import log_imports_for
from wintering.climate.queries.conflicts import SensorConflicts, conflicts_of
from wintering.forecast.services import judge_frame
from wintering.ingest.forms import ChoiceForm
from wintering.ingest.gates import staff_only
from wintering.ingest.reasons import words_for
from wintering.ingest.settling import settle


@require_http_methods(["GET", "POST"])
@staff_only
def log_conflicts(request: HttpRequest, pk: int) -> HttpResponse:
    log = get_object_or_404(log_imports_for(request.user), pk=pk)
    sent = None
    if request.method == "POST":
        if not request.user.is_keeper:
            raise Http404("There is no such page.")
        sent = _chosen(request, log)
        if sent is None:
            return redirect("ingest:log-conflicts", log.pk)
    found = conflicts_of(log)
    told = [
        (one, words_for(one), _form_for(one, sent, is_keeper=request.user.is_keeper))
        for one in found
    ]
    content = {
        "log": log,
        "told": told,
        "open": sum(one.count for one in found if one.is_open),
    }
    return render(request, "web/log_conflicts.html", content)


def _chosen(request: HttpRequest, log: LogImport) -> ChoiceForm | None:
    """Settle what was sent; the form again where it is refused."""
    sensors = {str(one.pk): one for one in Sensor.objects.filter(frame=log.frame_id)}
    sensor = sensors.get(request.POST.get("sensor", ""))
    if sensor is None:
        raise Http404("There is no such sensor.")
    form = ChoiceForm(request.POST, sensor=sensor)
    if not form.is_valid():
        return form
    take_new = form.cleaned_data["choice"] == ChoiceForm.TAKE
    try:
        count = settle(
            log_import=log,
            sensor=sensor,
            take_new=take_new,
            reason=form.cleaned_data["reason"],
            by=request.user,
        )
    except ValidationError as refusal:
        form.add_error(None, refusal.messages)
        return form
    judge_frame(frame=log.frame, at=timezone.now())
    values = "1 value" if count == 1 else f"{count} values"
    done = f"{values} of this file taken" if take_new else f"{values} kept as stored"
    messages.success(request, f"{sensor.name}: {done}. The others stay on record.")
    return None


def _form_for(
    one: SensorConflicts, sent: ChoiceForm | None, *, is_keeper: bool
) -> ChoiceForm | None:
    if not one.is_open or not is_keeper:
        return None
    if sent is not None and sent.sensor == one.sensor:
        return sent
    return ChoiceForm(sensor=one.sensor)
