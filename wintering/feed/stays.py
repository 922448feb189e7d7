"""Stays as events: the time in care, the days of arrival and collection."""

from collections import defaultdict
from collections.abc import Callable, Iterator
from datetime import date, timedelta

from django.db.models import Q

from wintering.care.services.calendar import Audience, Item
from wintering.clients.models import Agreement
from wintering.feed.wording import day_words, named, paragraphs, trees_words
from wintering.science.winter import Winter
from wintering.stays.models import Stay

DAY = timedelta(days=1)
LATELY = timedelta(days=90)
CATEGORIES = ("Stay",)


def stay_items(on: date) -> list[Item]:
    """Stays of this winter and the last, and older ones that ended late or not yet."""
    winter = Q(winter__gte=Winter.of(on).start_year - 1)
    stays = list(
        Stay.objects.filter(winter | Q(until=None) | Q(until__gt=on - LATELY))
        .select_related("tree__taxon", "client")
        .order_by("winter", "client__mark", "tree__serial")
    )
    planned = _planned(stays)
    return [
        *(_stay(stay, planned[stay.pk], on) for stay in stays),
        *_arrivals(stays),
        *_collections(stays, planned),
    ]


def _planned(stays: list[Stay]) -> dict[int, date | None]:
    """When each tree is to be collected: its own day, else the agreement's last."""
    agreements = Agreement.objects.filter(client__in={s.client_id for s in stays})
    agreed = {(a.client_id, a.winter): a.collect_until for a in agreements}
    return {
        stay.pk: stay.planned_until or agreed.get((stay.client_id, stay.winter))
        for stay in stays
    }


def _stay(stay: Stay, planned: date | None, on: date) -> Item:
    tree = stay.tree
    last = stay.until or planned or Winter(stay.winter).last_day
    name = named(tree.number, tree.name, tree.original_script)
    return Item(
        key=f"stay:{stay.pk}",
        start=stay.since,
        # The event covers the day of departure itself.
        end=max(last, stay.since) + DAY,
        summary=f"In care: {name} ({stay.client.mark})",
        description=paragraphs(_stay_words(stay, planned, on), []),
        categories=CATEGORIES,
        audience=Audience.BOTH,
        client_id=stay.client_id,
        # A stay that exists is always computed: one that is not was deleted.
        leaves_at_once=True,
        is_tentative=stay.confirmed_at is None,
    )


def _stay_words(stay: Stay, planned: date | None, on: date) -> list[str]:
    words = [f"Checked in on {day_words(stay.since)}."]
    if stay.confirmed_at is None:
        words.append("A draft: the keeper has not confirmed it yet.")
    if stay.until:
        words.append(f"Handed back on {day_words(stay.until)}.")
    elif planned is None:
        words.append(
            "No day of collection has been agreed yet: shown to the winter's end."
        )
    else:
        words.append(f"Collection planned for {day_words(planned)}.")
        if planned < on:
            words.append("Not handed back yet.")
    return words


def _arrivals(stays: list[Stay]) -> Iterator[Item]:
    for (client_id, winter), days in _by_day(stays, _arrival_of).items():
        for n, (day, arrived) in enumerate(sorted(days.items())):
            mark = arrived[0].client.mark
            yield _day_item(
                f"arrival:{client_id}:{winter}:{n}",
                day,
                f"Arrival: {mark}, {trees_words(len(arrived))}",
                arrived,
            )


def _collections(stays: list[Stay], planned: dict[int, date | None]) -> Iterator[Item]:
    def leaves(stay: Stay) -> date | None:
        return stay.until or planned[stay.pk]

    for (client_id, winter), days in _by_day(stays, leaves).items():
        for n, (day, leaving) in enumerate(sorted(days.items())):
            gone = sum(stay.until is not None for stay in leaving)
            summary = f"Collection: {leaving[0].client.mark}, "
            if gone == len(leaving):
                summary = f"Done: {summary}{trees_words(gone)}"
            elif gone:
                summary += f"{gone} of {trees_words(len(leaving))} handed back"
            else:
                summary += trees_words(len(leaving))
            # By rank, not by day: the client's first day of collection stays the same
            # event when it moves.
            yield _day_item(
                f"collection:{client_id}:{winter}:{n}", day, summary, leaving
            )


Days = dict[date, list[Stay]]


def _arrival_of(stay: Stay) -> date | None:
    return stay.since


def _by_day(
    stays: list[Stay], day_of: Callable[[Stay], date | None]
) -> dict[tuple[int, int], Days]:
    found: dict[tuple[int, int], Days] = defaultdict(lambda: defaultdict(list))
    for stay in stays:
        day = day_of(stay)
        if day is not None:
            found[stay.client_id, stay.winter][day].append(stay)
    return found


def _day_item(key: str, day: date, summary: str, stays: list[Stay]) -> Item:
    is_done = summary.startswith("Done: ")
    trees = [stay.tree for stay in stays]
    return Item(
        key=key,
        start=day,
        end=day + DAY,
        summary=summary,
        description=paragraphs(
            [], [named(t.number, t.name, t.original_script) for t in trees]
        ),
        categories=CATEGORIES,
        audience=Audience.STAFF,
        client_id=stays[0].client_id,
        remind_before=None if is_done else DAY,
    )
