"""Charts for the reader in front of the page: band_chart, live_chart."""

from typing import Any

from django import template
from django.contrib.auth.models import AnonymousUser
from django.template import Context
from django.utils.text import slugify

from wintering.web.charts import Chart, draw, in_fahrenheit
from wintering.web.charts.columns import Picture
from wintering.web.charts.giving import as_chart
from wintering.web.charts.wording import notes
from wintering.web.scales import Scale
from wintering.web.templatetags.units import reads_fahrenheit

register = template.Library()


@register.inclusion_tag("web/_band_chart.html", takes_context=True)
def band_chart(context: Context, chart: Chart) -> dict[str, Any]:
    """Draws a chart in the reader's unit. Titles on one page must differ."""
    user = context.get("user") or AnonymousUser()
    shown = in_fahrenheit(chart) if reads_fahrenheit(user) else chart
    return {"drawing": draw(shown), "id": slugify(chart.title)}


@register.inclusion_tag("web/_live_chart.html", takes_context=True)
def live_chart(
    context: Context, picture: Picture, url: str, reach: tuple[int, int]
) -> dict[str, Any]:
    """A drawing that script turns into a chart to move in.

    url    where columns are asked for
    reach  the earliest and the latest second that can be looked at
    """
    return {
        "user": context.get("user"),
        "chart": as_chart(picture),
        "notes": list(notes(picture)),
        "url": url,
        "start": picture.start_s,
        "end": picture.end_s,
        "earliest": reach[0],
        "latest": reach[1],
        "title": picture.title,
        "id": slugify(picture.title),
    }


@register.filter
def told(value: float | None, scale: Scale) -> str:
    """A sensor's value as finely as the sensor writes, in the reader's unit."""
    return scale.words(value)
