"""Charts for the reader in front of the page: {% band_chart chart %}."""

from typing import Any

from django import template
from django.contrib.auth.models import AnonymousUser
from django.template import Context
from django.utils.text import slugify

from wintering.web.charts import Chart, draw, in_fahrenheit
from wintering.web.templatetags.units import reads_fahrenheit

register = template.Library()


@register.inclusion_tag("web/_band_chart.html", takes_context=True)
def band_chart(context: Context, chart: Chart) -> dict[str, Any]:
    """Draws a chart in the reader's unit. Titles on one page must differ."""
    user = context.get("user") or AnonymousUser()
    shown = in_fahrenheit(chart) if reads_fahrenheit(user) else chart
    return {"drawing": draw(shown), "id": slugify(chart.title)}
