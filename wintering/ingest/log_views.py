"""Logs that came in: all of them, one of them, and taking one back."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.db.models import QuerySet
from django.http import (
    Http404,
    HttpRequest,
    HttpResponse,
    HttpResponseBase,
    StreamingHttpResponse,
)
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.http import content_disposition_header
from django.views.decorators.http import require_http_methods, require_safe
from django_tables2 import RequestConfig

from wintering.climate.models import LogImport
from wintering.climate.queries import log_imports_for
from wintering.climate.queries.imports import coming_back, shares_of
from wintering.frames.queries import frames_for
from wintering.ingest.forms import ReasonForm
from wintering.ingest.gates import keepers_only, staff_only
from wintering.ingest.kept import is_kept, parts_of
from wintering.ingest.log_page import log_page
from wintering.ingest.tables import LogTable
from wintering.ingest.undoing import readers_after, senders_after, take_back
from wintering.people.models import User

A_LEAF = 50


@require_safe
@staff_only
def log_list(request: HttpRequest) -> HttpResponse:
    frames = list(frames_for(request.user))
    frame = next((f for f in frames if f.slug == request.GET.get("frame")), None)
    logs = _logs(request.user)
    if frame:
        logs = logs.filter(frame=frame)
    table = LogTable(logs)
    RequestConfig(request, paginate={"per_page": A_LEAF}).configure(table)
    content = {"table": table, "frames": frames, "frame": frame}
    return render(request, "web/log_list.html", content)


@require_safe
@staff_only
def log_detail(request: HttpRequest, pk: int) -> HttpResponse:
    log = get_object_or_404(_logs(request.user), pk=pk)
    content = {
        "log": log,
        "report": log.report,
        "page": log_page(log),
        "has_conflicts": log.conflict_days.exists(),
    }
    return render(request, "web/log_detail.html", content)


@require_safe
@keepers_only
def log_file(request: HttpRequest, pk: int) -> HttpResponseBase:
    """The file as it came, to be saved: never shown as a page of this site."""
    log = get_object_or_404(_logs(request.user), pk=pk)
    if not is_kept(log):
        raise Http404("No copy of that log is kept.")
    named = content_disposition_header(as_attachment=True, filename=log.file_name)
    return StreamingHttpResponse(
        parts_of(log),
        content_type="application/octet-stream",
        headers={"Content-Disposition": named},
    )


@require_http_methods(["GET", "POST"])
@keepers_only
def log_take_back(request: HttpRequest, pk: int) -> HttpResponse:
    log = get_object_or_404(_logs(request.user), pk=pk)
    if log.undone_at:
        # Sent twice, or somebody was quicker: it is done either way.
        return redirect("ingest:log-detail", log.pk)
    form = ReasonForm(request.POST or None)
    if form.is_valid() and _taken_back(request, log, form):
        return redirect("ingest:log-detail", log.pk)
    shares = shares_of(log)
    content = {
        "log": log,
        "form": form,
        "shares": shares,
        "count": sum(share.count for share in shares),
        "back": coming_back(log),
        "readers": readers_after(log),
        "senders": senders_after(log),
    }
    return render(request, "web/log_take_back.html", content)


def _taken_back(request: HttpRequest, log: LogImport, form: ReasonForm) -> bool:
    try:
        count = take_back(
            log_import=log, by=request.user, reason=form.cleaned_data["reason"]
        )
    except ValidationError as refusal:
        log.refresh_from_db()
        if log.undone_at:
            return True
        form.add_error(None, refusal.messages)
        return False
    readings = "1 reading" if count == 1 else f"{count} readings"
    messages.success(request, f"Taken back: {readings} went out. The file stays kept.")
    return True


def _logs(user: User) -> QuerySet[LogImport]:
    return log_imports_for(user).select_related("frame", "by", "undone_by", "logger")
