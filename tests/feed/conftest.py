from datetime import date

import pytest
import time_machine

from tests import make
from tests.feed.reading import events_by_summary
from wintering.care.services.feeds import ensure_feed
from wintering.feed.events import calendar_of, publish_work

CHECKED = date(2025, 1, 13)


@pytest.fixture
def now():
    """The story's day; `now.move_to(...)` lets time pass."""
    with time_machine.travel(make.NOON, tick=False) as traveller:
        yield traveller


@pytest.fixture
def long_frame(db):
    """Six places, all of them free."""
    frame = make.frame(name="Long Frame", slug="long", time_zone="America/New_York")
    make.bench(frame=frame, name="N1", columns=3)
    return frame


@pytest.fixture
def stand(long_frame):
    """Stand a tree on a place of the Long Frame."""

    def stand_tree(label, **fields):
        tree = make.tree(**fields)
        [bench] = long_frame.benches.all()
        make.placement(tree=tree, modules=[bench.modules.get(label=label)])
        return tree

    return stand_tree


@pytest.fixture
def keeper(db):
    return make.keeper(username="hana", time_zone="America/New_York")


@pytest.fixture
def noa(db):
    """An owner who can sign in."""
    user = make.user("client", username="noa", time_zone="America/New_York")
    return make.client(name="Noa Sandoral", mark="NS", user=user)


@pytest.fixture
def body_of():
    def text(user, at=make.NOON):
        feed = ensure_feed(user=user, by=user)
        return calendar_of(feed, publish_work(at), at)[0]

    return text


@pytest.fixture
def shown(body_of):
    """A person's events by their titles, as a calendar program shows them."""

    def read(user, at=make.NOON):
        return events_by_summary(body_of(user, at))

    return read
