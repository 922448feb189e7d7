"""Bringing a log in by the browser: choose it, see what was understood, import it."""

import hashlib
from typing import Any
from zoneinfo import available_timezones

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import (
    require_http_methods,
    require_POST,
    require_safe,
)

from wintering.climate.models import LogImport
from wintering.climate.queries import log_imports_for
from wintering.forecast.services import judge_frame
from wintering.frames.models import Frame
from wintering.frames.queries import frames_for
from wintering.ingest.dates import ORDER_NAMES
from wintering.ingest.forms import (
    AnswersForm,
    ColumnForm,
    LogFileForm,
    column_forms,
    taken,
)
from wintering.ingest.gates import staff_only
from wintering.ingest.intake import import_log
from wintering.ingest.preview import Preview, preview
from wintering.ingest.refusals import LogRefused
from wintering.ingest.waiting import WaitingLog, held, hold, let_go

REPORT = "log_report"


@require_http_methods(["GET", "POST"])
@staff_only
def log_import(request: HttpRequest) -> HttpResponse:
    frames = frames_for(request.user)
    asked = {"frame": frames.filter(slug=request.GET.get("frame", "")).first()}
    form = LogFileForm(
        request.POST or None, request.FILES or None, frames=frames, initial=asked
    )
    if request.method == "POST" and form.is_valid():
        log, frame = form.cleaned_data["log"], form.cleaned_data["frame"]
        try:
            preview(file=log.file, file_name=log.name, frame=frame)
        except LogRefused as refusal:
            form.add_error("log", str(refusal))
        else:
            log.seek(0)
            hold(request.session, log, frame.pk)
            return redirect("ingest:log-preview")
    return render(request, "web/climate_import.html", {"form": form, "frames": frames})


@require_http_methods(["GET", "POST"])
@staff_only
def log_preview(request: HttpRequest) -> HttpResponse:
    """What was understood, what is asked; sent with 'import' it goes in."""
    log = held(request.session)
    frame = frames_for(request.user).filter(pk=log.frame_id).first() if log else None
    if log is None or frame is None:
        return redirect("ingest:log-import")
    if request.method == "POST" and not _is_of(request, log):
        return redirect("ingest:log-import")
    answers = AnswersForm(sent_answers(request, frame))
    refusal = ""
    try:
        seen = _seen(log, frame, answers)
    except LogRefused as error:
        refusal, seen = str(error), _seen(log, frame, AnswersForm())
    columns = column_forms(request.POST or None, seen, frame)
    if "import" in request.POST and not refusal and is_ready(answers, columns):
        try:
            report = _import(request, log, frame, answers, columns)
        except LogRefused as error:
            # What was answered stays: the next question is asked beside it.
            refusal = str(error)
        else:
            return _reported(request, log, frame, report)
    if seen.about == "date_order":
        answers.choose_order(frame.log_habits.get("date_order", ""))
    content = preview_content(seen, frame, answers, columns)
    # The question stands below already; once is enough.
    refusal = "" if refusal == seen.question else refusal
    content["refusal"] = refusal or nothing_taken(request, columns)
    content |= {"mark": log.mark, "came_before": _log_of(log, frame)}
    return render(request, "web/climate_import_preview.html", content)


def _reported(
    request: HttpRequest, log: WaitingLog, frame: Frame, report: dict[str, Any]
) -> HttpResponse:
    came = _log_of(log, frame)
    told = {"file": log.name, "frame": frame.pk, "log": came and came.pk}
    request.session[REPORT] = {**report, **told}
    let_go(request.session)
    return redirect("ingest:log-report")


@require_POST
@staff_only
def log_leave(request: HttpRequest) -> HttpResponse:
    """Leave it: the file is removed, nothing was stored."""
    log = held(request.session)
    if log and _is_of(request, log):
        let_go(request.session)
    return redirect("ingest:log-import")


@require_safe
@staff_only
def log_report(request: HttpRequest) -> HttpResponse:
    report = request.session.get(REPORT)
    if not report:
        return redirect("ingest:log-import")
    frame = frames_for(request.user).filter(pk=report["frame"]).first()
    log = log_imports_for(request.user).filter(pk=report.get("log")).first()
    content = {
        "report": report,
        "frame": frame,
        "log": log,
        "has_conflicts": log is not None and log.conflict_days.exists(),
    }
    return render(request, "web/climate_import_report.html", content)


def _is_of(request: HttpRequest, log: WaitingLog) -> bool:
    """Whether what was sent is about the file that waits: another window may have
    opened another one meanwhile."""
    if request.POST.get("waiting") == log.mark:
        return True
    messages.error(request, "Another file was opened since; read this one again.")
    return False


def _log_of(log: WaitingLog, frame: Frame) -> LogImport | None:
    """The import that holds this file: an older one where nothing was new."""
    with log.open() as file:
        sha256 = hashlib.file_digest(file.file, "sha256").hexdigest()
    logs = LogImport.objects.filter(frame=frame, sha256=sha256, undone_at=None)
    return logs.order_by("-pk").first()


def _seen(log: WaitingLog, frame: Frame, answers: AnswersForm) -> Preview:
    with log.open() as file:
        return preview(
            file=file.file, file_name=log.name, frame=frame, **answers.answers()
        )


def sent_answers(request: HttpRequest, frame: Frame) -> QueryDict | None:
    """What was answered; the frame's own zone may be chosen by its button."""
    if "own_zone" not in request.POST:
        return request.POST or None
    sent = request.POST.copy()
    sent["zone"] = frame.time_zone
    return sent


def preview_content(
    seen: Preview, frame: Frame, answers: AnswersForm, columns: list[ColumnForm]
) -> dict[str, Any]:
    return {
        "seen": seen,
        "frame": frame,
        "answers": answers,
        "columns": columns,
        "order_words": ORDER_NAMES.get(seen.date_order, ""),
        "zones": sorted(available_timezones()),
    }


def is_ready(answers: AnswersForm, columns: list[ColumnForm]) -> bool:
    refused = [form for form in (answers, *columns) if not form.is_valid()]
    return not refused and bool(taken(columns))


def nothing_taken(request: HttpRequest, columns: list[ColumnForm]) -> str:
    is_sent = "import" in request.POST and all(form.is_valid() for form in columns)
    return "Take at least one column." if is_sent and not taken(columns) else ""


def _import(
    request: HttpRequest,
    log: WaitingLog,
    frame: Frame,
    answers: AnswersForm,
    columns: list[ColumnForm],
) -> dict[str, Any]:
    with log.open() as file:
        report = import_log(
            file=file.file,
            file_name=log.name,
            frame=frame,
            by=request.user,
            mapping=[form.channel() for form in taken(columns)],
            **answers.answers(),
        )
    # What the new readings say of the trees is to be seen at once.
    judge_frame(frame=frame, at=timezone.now())
    return report.shortened()
