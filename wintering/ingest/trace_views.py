"""One reading back to the line of the file it came from."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from wintering.climate.queries import sensors_for
from wintering.ingest.forms import InstantForm
from wintering.ingest.gates import staff_only
from wintering.ingest.tracing import Found, found_at


@require_safe
@staff_only
def reading_trace(request: HttpRequest, pk: int) -> HttpResponse:
    """Where the reading of an instant comes from; the nearest if there is none."""
    sensor = get_object_or_404(sensors_for(request.user), pk=pk)
    form = InstantForm(request.GET if "at" in request.GET else None, frame=sensor.frame)
    found: Found | None = None
    if form.is_valid():
        asked = form.cleaned_data["at"]
        found = found_at(sensor, asked)
        # A link may have asked in UTC; the field shows the frame's own time.
        form = InstantForm({"at": form.local(asked[0])}, frame=sensor.frame)
    content = {"sensor": sensor, "form": form, "found": found}
    return render(request, "web/log_reading.html", content)
