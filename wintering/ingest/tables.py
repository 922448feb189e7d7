"""The table of logs that came in."""

import django_tables2 as tables

from wintering.climate.models import LogImport

BARE = {"td": {"class": "bare"}}


class LogTable(tables.Table):
    file_name = tables.TemplateColumn(
        '<a class="row-link" href="{% url "ingest:log-detail" record.pk %}">'
        "{{ record.file_name }}</a>",
        verbose_name="Log",
        attrs=BARE,
    )
    frame = tables.Column(accessor="frame__name", verbose_name="Frame")
    at = tables.TemplateColumn(
        "{% load dates %}{{ record.at|moment }}", verbose_name="Came in"
    )
    by = tables.TemplateColumn(
        template_name="web/_log_by.html", order_by="by__name", verbose_name="By"
    )
    added = tables.TemplateColumn(
        "{% if record.kind == 'file' %}{{ record.report.added|default:0 }}"
        "{% else %}{{ record.rows }} sent{% endif %}",
        orderable=False,
        verbose_name="Values added",
    )
    state = tables.TemplateColumn(
        template_name="web/_log_state.html", orderable=False, verbose_name="State"
    )

    class Meta:
        model = LogImport
        fields = ["file_name", "frame", "at", "by", "added", "state"]
        empty_text = "No log came in."
