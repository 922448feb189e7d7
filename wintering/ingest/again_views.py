"""Reading a kept log again with other settings."""

from dataclasses import replace
from typing import Any

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from wintering.climate.models import LogImport
from wintering.climate.queries import log_imports_for
from wintering.ingest.forms import AnswersForm, ColumnForm, column_forms, taken
from wintering.ingest.gates import keepers_only
from wintering.ingest.kept import kept_copy
from wintering.ingest.preview import Preview, preview
from wintering.ingest.refusals import LogRefused
from wintering.ingest.undoing import (
    mapping_of,
    read_again,
    readers_after,
    settings_of,
)
from wintering.ingest.views import (
    is_ready,
    nothing_taken,
    preview_content,
    sent_answers,
)


@require_http_methods(["GET", "POST"])
@keepers_only
def log_again(request: HttpRequest, pk: int) -> HttpResponse:
    """What the file is understood as with other settings; sent, it is read so."""
    logs = log_imports_for(request.user).filter(kind=LogImport.Kind.FILE)
    log = get_object_or_404(logs, pk=pk)
    answers = AnswersForm(sent_answers(request, log.frame) or settings_of(log.habits))
    refusal = ""
    try:
        seen = _seen(log, answers.answers())
    except LogRefused as error:
        refusal = str(error)
        try:
            seen = _seen(log, settings_of(log.habits))
        except LogRefused as error_again:
            # Not even as it was read before: the kept copy is damaged.
            messages.error(request, str(error_again))
            return redirect("ingest:log-detail", log.pk)
    columns = _columns(request, seen, log)
    if "import" in request.POST and not refusal and is_ready(answers, columns):
        try:
            return _read(request, log, answers, columns)
        except (LogRefused, ValidationError) as error:
            # What was answered stays: the next question is asked beside it.
            refusal = " ".join(getattr(error, "messages", [str(error)]))
    refusal = "" if refusal == seen.question else refusal
    content = preview_content(seen, log.frame, answers, columns)
    content |= {
        "again": log,
        "readers": readers_after(log) if not log.undone_at else [],
        "refusal": refusal or nothing_taken(request, columns),
    }
    return render(request, "web/climate_import_preview.html", content)


def _read(
    request: HttpRequest,
    log: LogImport,
    answers: AnswersForm,
    columns: list[ColumnForm],
) -> HttpResponse:
    came, report = read_again(
        log_import=log,
        by=request.user,
        mapping=[form.channel() for form in taken(columns)],
        **answers.answers(),
    )
    messages.success(
        request, f"Read again: {report.added} of {report.read} values added."
    )
    return redirect("ingest:log-detail", (came or log).pk)


def _seen(log: LogImport, answers: dict[str, Any]) -> Preview:
    with kept_copy(log) as file:
        return preview(file=file, file_name=log.file_name, frame=log.frame, **answers)


def _columns(request: HttpRequest, seen: Preview, log: LogImport) -> list[ColumnForm]:
    """As the import had them, not as the frame's last log did."""
    mapping = mapping_of(log.habits)
    had = {channel.column: channel for channel in mapping or ()}
    told = [replace(one, suggested=had.get(one.name)) for one in seen.columns]
    return column_forms(
        request.POST or None,
        replace(seen, columns=tuple(told)),
        log.frame,
        only=None if mapping is None else set(had),
    )
