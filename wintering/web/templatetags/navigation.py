"""The words that lead from page to page, by what a person may do."""

from dataclasses import dataclass

from django import template
from django.template.context import RequestContext
from django.urls import NoReverseMatch, reverse

from wintering.people.models import User

register = template.Library()


@dataclass(frozen=True, slots=True)
class Place:
    word: str
    url: str
    is_here: bool


# The first four are in reach of the thumb; the rest wait under 'More'.
STAFF = [
    ("Today", "web:today"),
    ("Trees", "web:tree-list"),
    ("Frame", "web:frame-list"),
    ("Round", "web:round-list"),
    ("Stays", "web:stay-list"),
    ("Clients", "web:client-list"),
    ("Climate", "web:climate"),
    ("Forecast", "web:forecast"),
    ("Calendar", "feed:calendar"),
]
CLIENT = [
    ("Today", "web:today"),
    ("Trees", "web:tree-list"),
    ("Calendar", "feed:calendar"),
]
WITHIN_REACH = 4


@register.simple_tag(takes_context=True)
def navigation(context: RequestContext) -> dict[str, list[Place]]:
    request = context["request"]
    places = places_for(request.user, request.path)
    return {
        "all": places,
        "near": places[:WITHIN_REACH],
        "far": places[WITHIN_REACH:],
    }


def places_for(user: User, path: str) -> list[Place]:
    if not user.is_authenticated:
        return []
    words = STAFF if user.is_staffing else CLIENT
    found = [(word, url) for word, name in words if (url := _address(name))]
    return [Place(word, url, _holds(url, path)) for word, url in found]


def _address(name: str) -> str:
    try:
        return reverse(name)
    except NoReverseMatch:
        return ""


def _holds(url: str, path: str) -> bool:
    return path == url or (url != "/" and path.startswith(url))
