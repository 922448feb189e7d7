"""The table of a winter's stays."""

import django_tables2 as tables

from wintering.stays.models import Stay


class StayTable(tables.Table):
    tree = tables.Column(
        linkify=lambda record: record.tree.get_absolute_url(),
        accessor="tree__number",
        order_by="tree__serial",
        verbose_name="Number",
    )
    name = tables.Column(
        accessor="tree__name", order_by=("tree__taxon__scientific_name",)
    )
    client = tables.Column(accessor="client__name", verbose_name="Owner")
    since = tables.TemplateColumn("{% load dates %}{{ record.since|day }}")
    planned_until = tables.TemplateColumn(
        "{% load dates %}{% if record.planned_until %}{{ record.planned_until|day }}"
        '{% else %}<span class="soft">not planned</span>{% endif %}',
        verbose_name="Collection planned",
    )
    custody = tables.TemplateColumn(
        template_name="web/_stay_custody.html", orderable=False, verbose_name="Stay"
    )

    class Meta:
        model = Stay
        fields = ["tree", "name", "client", "since", "planned_until", "custody"]
        empty_text = "No stay in this winter."
