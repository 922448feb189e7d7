"""The words that lead from page to page, by what a person may do."""

from dataclasses import dataclass

from django import template
from django.template.context import RequestContext
from django.urls import reverse

from wintering.people.models import User

register = template.Library()


@dataclass(frozen=True, slots=True)
class Place:
    word: str
    url: str
    is_here: bool


# The first four are in reach of the thumb; the rest wait under 'More'.
KEEPER = [
    ("Today", "web:today"),
    ("Trees", "web:tree-list"),
    ("Frame", "web:frame-list"),
    ("Round", "web:round-list"),
    ("Stays", "web:stay-list"),
    ("Clients", "web:client-list"),
    ("Climate", "web:climate"),
    ("Forecast", "web:forecast"),
    ("Taxa", "web:taxon-list"),
    ("Calendar", "feed:calendar"),
]
# How to reach a client, and what was agreed, is between client and keeper.
HELPER = [word for word in KEEPER if word != ("Clients", "web:client-list")]
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
    found = [(word, reverse(name)) for word, name in _words(user)]
    return [Place(word, url, _holds(url, path)) for word, url in found]


def _words(user: User) -> list[tuple[str, str]]:
    if user.is_keeper:
        return KEEPER
    return HELPER if user.is_staffing else CLIENT


def _holds(url: str, path: str) -> bool:
    return path == url or (url != "/" and path.startswith(url))
