"""Words on what was read by hand."""

from django import template

from wintering.climate.queries.min_max import HandReading
from wintering.web.templatetags.dates import lately

register = template.Library()


@register.filter
def since_words(told: HandReading) -> str:
    """From when on a lowest and a highest may be: never said younger than they are."""
    if told.since is None:
        return "since its last reset, not known when"
    if told.reset_after:
        return f"since {lately(told.since)} at the earliest"
    if told.not_reset_at:
        return f"since {lately(told.since)}, not reset {lately(told.not_reset_at)}"
    return f"since {lately(told.since)}"
