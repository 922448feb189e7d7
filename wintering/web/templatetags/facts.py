"""What is stated of a taxon, in words and in the reader's unit."""

from django import template
from django.contrib.auth.models import AnonymousUser
from django.template import Context

from wintering.science.dormancy import ChillUnit
from wintering.trees.models import TaxonFact
from wintering.web.templatetags.units import MINUS, temperature

register = template.Library()

# In the order in which a keeper asks.
ATTRIBUTE_NAMES = {
    "dormancy_class": "Winter rest",
    "chilling_requirement": "Chill needed",
    "chilling_optimum": "Chill for the fullest budbreak",
    "root_class": "Root class",
    "root_kill_temp": "Roots killed at",
    "root_survival_range": "Roots survived down to",
    "root_hardiness_class": "Root hardiness in words",
    "zone_limit_temp": "Top survives to about",
    "usda_zone_min": "Coldest hardiness zone (USDA)",
    "usda_zone_max": "Warmest hardiness zone (USDA)",
    "advised_storage_min": "Coldest storage advised",
    "winter_light": "Light in winter",
    "wake_rank": "Wake rank, 1 first to 5 last",
    "budbreak_order": "Order of budbreak",
    "forcing_requirement": "Warmth to budbreak",
    "chill_days_threshold": "Chill days before warmth tells",
    "thermal_time_group": "Thermal time group",
    "thermal_time_a": "Thermal time to leaf growth, least (a)",
    "thermal_time_b": "Thermal time to leaf growth, added without chill (b)",
    "thermal_time_k": "Thermal time, fall with chill (k)",
    "thermal_time_r": "Thermal time, rate (r)",
    "exit_group": "Order of spring exit, a first",
    "note": "Note",
}
# Units that say nothing beside the attribute's name.
SILENT_UNITS = {"class", "rank", "group"}


@register.filter
def attribute_name(attribute: str) -> str:
    return ATTRIBUTE_NAMES.get(attribute, attribute.replace("_", " ").capitalize())


def by_question(attribute: str) -> tuple[int, str]:
    """Sorts attributes as a keeper asks for them, unforeseen ones last."""
    known = list(ATTRIBUTE_NAMES)
    place = known.index(attribute) if attribute in known else len(known)
    return place, attribute


@register.filter
def kind_and_source(fact: TaxonFact) -> str:
    """'published: list of a university'; a source that names its kind says it once."""
    kind = fact.get_kind_display()
    if fact.source.lower().startswith(fact.kind.lower()):
        return fact.source
    return f"{kind}: {fact.source}"


@register.filter
def is_web_address(text: str) -> bool:
    """Only these become links: a keeper may have typed anything."""
    return text.startswith(("https://", "http://"))


@register.simple_tag(takes_context=True)
def fact_value(context: Context, fact: TaxonFact) -> str:
    """The value with its unit: 'zone 5', '−23.3 °C', '300-500 chill hours ...'."""
    if fact.unit == "zone":
        return f"zone {fact.value}"
    if fact.unit == "°C" and fact.low is not None and fact.high is not None:
        user = context.get("user") or AnonymousUser()
        low, high = temperature(fact.low, user), temperature(fact.high, user)
        return low if low == high else f"{low} to {high}"
    value = fact.value.replace("-", MINUS, 1) if fact.value[:1] == "-" else fact.value
    return f"{value} {_unit_words(fact)}".strip()


def _unit_words(fact: TaxonFact) -> str:
    if fact.unit in SILENT_UNITS:
        return ""
    if not fact.printed_unit and fact.unit in set(ChillUnit):
        return ChillUnit(fact.unit).words
    return fact.printed_unit or fact.unit
