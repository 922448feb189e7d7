"""The table of a winter's stays."""

import django_tables2 as tables

from wintering.stays.models import Stay

BARE = {"td": {"class": "bare"}}


class StayTable(tables.Table):
    tree = tables.TemplateColumn(
        template_name="web/_stay_tree.html",
        order_by="tree__serial",
        verbose_name="Tree",
        attrs=BARE,
    )
    client = tables.Column(accessor="client__name", verbose_name="Owner")
    since = tables.TemplateColumn("{% load dates %}{{ record.since|short_day }}")
    planned_until = tables.TemplateColumn(
        "{% load dates %}{% if record.planned_until %}{{ record.planned_until|day }}"
        '{% else %}<span class="soft">not planned</span>{% endif %}',
        verbose_name="Collection planned",
    )
    custody = tables.TemplateColumn(
        template_name="web/_stay_custody.html",
        orderable=False,
        verbose_name="Stay",
        attrs=BARE,
    )

    class Meta:
        model = Stay
        fields = ["tree", "client", "since", "planned_until", "custody"]
        empty_text = "No stay in this winter."
