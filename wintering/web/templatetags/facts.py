"""What is stated of a taxon, in words and in the reader's unit."""

from django import template
from django.contrib.auth.models import AnonymousUser
from django.template import Context

from wintering.forecast.queries.limits import (
    ESTABLISHED,
    sets_root_limit,
    sets_young_limit,
)
from wintering.science.dormancy import ChillUnit
from wintering.science.hardiness import ROOT_CLASSES, RootClass
from wintering.trees.attributes import ATTRIBUTES, label_of
from wintering.trees.models import Evidence, TaxonFact
from wintering.web.templatetags.units import MINUS, temperature

register = template.Library()

# Units that say nothing beside the attribute's name.
SILENT_UNITS = {"class", "rank", "group", "month"}


@register.filter
def attribute_name(attribute: str) -> str:
    return label_of(attribute)


@register.filter
def kind_and_source(fact: TaxonFact, user: object) -> str:
    """'published: list of a university'; a source that names its kind says it once.

    A keeper's reason for a value of their own may speak of other people's trees: only
    those who work here read it.
    """
    kind = fact.get_kind_display()
    if fact.kind == Evidence.OWN and not getattr(user, "is_staffing", False):
        return kind
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


@register.simple_tag(takes_context=True)
def stand_in(context: Context, fact: TaxonFact) -> str:
    """Of whom a value speaks, where that is not the plant the page is about.

    On the page of a genus what is stated of that genus is its own.
    """
    if fact.taxon_id and fact.taxon_id == getattr(context.get("taxon"), "pk", None):
        return ""
    return speaking_for(fact)


def speaking_for(fact: TaxonFact) -> str:
    """'from the genus Acer', 'as for every deciduous broadleaf tree'."""
    if fact.tree_id:
        return "of this tree alone"
    if fact.taxon is None:
        # 'Conifer' and 'succulent' are nouns; 'broadleaf' asks for one.
        noun = " tree" if fact.habit.endswith("broadleaf") else ""
        return f"as for {fact.speaks_of}{noun}"
    return f"from {fact.speaks_of}" if fact.speaks_of else ""


@register.simple_tag(takes_context=True)
def class_limit(context: Context, fact: TaxonFact) -> str:
    """What a root class means, in degrees; empty for any other value."""
    if fact.attribute != "root_class" or fact.value not in set(RootClass):
        return ""
    user = context.get("user") or AnonymousUser()
    return temperature(ROOT_CLASSES[RootClass(fact.value)].kill_c, user)


@register.filter
def warning_words(fact: TaxonFact) -> str:
    """Whether a warning may rest on it; empty where nothing is warned of by it."""
    if fact.usable_as_limit is None:
        return ""
    is_limit = fact.usable_as_limit
    if fact.attribute == "root_kill_temp":
        if sets_young_limit(fact):
            return "a warning may rest on it while its roots count as just worked on"
        is_limit = sets_root_limit(fact)
    if is_limit:
        warns = fact.attribute in ATTRIBUTES and ATTRIBUTES[fact.attribute].is_limit
        return "a warning may rest on it" if warns else ""
    reason = fact.limit_reason or _why_no_limit(fact)
    return "no warning rests on it" + (f": {reason}" if reason else "")


def _why_no_limit(fact: TaxonFact) -> str:
    """A killing temperature sets a limit for established roots of the taxon itself."""
    if fact.is_fallback:
        return "it is no figure of the taxon's own"
    if fact.root_age not in ESTABLISHED:
        return "it speaks of young roots, which class RD stands for"
    return "" if fact.address else "its source has no address"
