"""Flags as events: trees that wake early, nights that are too cold for roots."""

from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Q

from wintering.care.services.calendar import KEPT_PAST, Audience, Item
from wintering.feed.wording import measured, named, paragraphs, trees_words
from wintering.forecast.models import Flag

KEPT_ALERTS = timedelta(days=14)
A_YEAR = timedelta(days=366)
DUSK, DAWN = time(18), time(8)
COLD = (Flag.Kind.ROOTS_TOO_COLD, Flag.Kind.GREEN_TOO_COLD)
NOT_AN_ALARM = (
    "A calendar is no alarm: programs fetch it when they like, some only once a day."
)


def alert_items(on: date) -> list[Item]:
    """What has been flagged, one event an episode."""
    kinds = (Flag.Kind.WAKING_EARLY, *COLD)
    # Long enough that no episode loses its first flag while it is still shown.
    begin = datetime.combine(on, time(), UTC) - A_YEAR
    recent = Q(since__gte=begin) | Q(cleared_at__gte=begin) | Q(cleared_at=None)
    flags = list(
        Flag.objects.filter(recent, kind__in=kinds, tree__isnull=False)
        .select_related("tree__taxon", "frame")
        .order_by("since", "pk")
    )
    waking = [flag for flag in flags if flag.kind == Flag.Kind.WAKING_EARLY]
    cold = [flag for flag in flags if flag.kind in COLD]
    nights = [item for episode in _episodes(cold) for item in _cold_items(episode)]
    return [*(item for flag in waking for item in _waking_items(flag)), *nights]


def _waking_items(flag: Flag) -> Iterator[Item]:
    """For those who work here, and for the tree's owner."""
    yield _waking_item(f"waking:{flag.pk}", flag, Audience.STAFF)
    if flag.tree.owner_id:
        yield _waking_item(f"waking:{flag.pk}:owner", flag, Audience.CLIENT)


def _waking_item(key: str, flag: Flag, audience: Audience) -> Item:
    tree = flag.tree
    return Item(
        key=key,
        start=flag.since,
        end=flag.since + timedelta(minutes=30),
        summary=_title(
            "Waking early",
            named(tree.number, tree.name, tree.original_script),
            [flag],
        ),
        description=paragraphs(
            _advice(flag, audience), list(_evidence(flag)), _over([flag])
        ),
        categories=("Alert", "Waking"),
        audience=audience,
        location=flag.frame.name,
        client_id=tree.owner_id,
        kept_for=_kept_for([flag], flag.since),
    )


def _episodes(flags: Iterable[Flag]) -> Iterator[list[Flag]]:
    """Flags of one frame whose times touch; a calendar has one event of them."""
    running: dict[int, list[Flag]] = {}
    for flag in flags:
        episode = running.get(flag.frame_id)
        if episode and any(_stood_at(one, flag.since) for one in episode):
            episode.append(flag)
            continue
        if episode:
            yield episode
        running[flag.frame_id] = [flag]
    yield from running.values()


def _stood_at(flag: Flag, at: datetime) -> bool:
    return flag.cleared_at is None or flag.cleared_at >= at


def _cold_items(episode: list[Flag]) -> Iterator[Item]:
    """One event for those who work here, one each for the owners of its trees."""
    # By the flag that was raised first, whatever night it speaks of.
    key = f"cold:{min(flag.pk for flag in episode)}"
    yield _cold_item(key, episode, Audience.STAFF, None)
    for client_id in sorted({f.tree.owner_id for f in episode if f.tree.owner_id}):
        theirs = [flag for flag in episode if flag.tree.owner_id == client_id]
        yield _cold_item(f"{key}:{client_id}", theirs, Audience.CLIENT, client_id)


def _cold_item(
    key: str, flags: list[Flag], audience: Audience, client_id: int | None
) -> Item:
    frame = flags[0].frame
    standing = [flag for flag in flags if flag.cleared_at is None]
    start, end = _night(
        max(flag.judged_at for flag in standing or flags), frame.time_zone
    )
    subject = f"{frame.name}, {trees_words(len({flag.tree_id for flag in flags}))}"
    is_urgent = any(flag.level == Flag.Level.TONIGHT for flag in standing)
    worst = sorted(flags, key=lambda flag: flag.level != Flag.Level.TONIGHT)
    return Item(
        key=key,
        start=start,
        end=end,
        summary=_title(_cold_words(flags), subject, flags),
        description=paragraphs(
            _advice(worst[0], audience),
            [_cold_line(flag) for flag in worst],
            _over(flags),
        ),
        categories=("Alert", "Frost"),
        audience=audience,
        location=frame.name,
        client_id=client_id,
        remind_before=timedelta(hours=3) if is_urgent else None,
        kept_for=_kept_for(flags, end),
    )


def _cold_words(flags: list[Flag]) -> str:
    kinds = {flag.kind for flag in flags}
    if kinds == {Flag.Kind.GREEN_TOO_COLD}:
        return "Green growth too cold"
    return "Roots too cold" if len(kinds) == 1 else "Roots and green growth too cold"


def _advice(flag: Flag, audience: Audience) -> list[str]:
    """What to do is for those who can do it."""
    if audience == Audience.CLIENT:
        return ["Those who look after your tree are told the same.", NOT_AN_ALARM]
    return [flag.advice, NOT_AN_ALARM]


def _cold_line(flag: Flag) -> str:
    name = named(flag.tree.number, flag.tree.name, flag.tree.original_script)
    level = "over" if flag.cleared_at else flag.get_level_display()
    return f"{name} ({level}): {next(_evidence(flag), 'no evidence kept')}"


def _night(at: datetime, time_zone: str) -> tuple[datetime, datetime]:
    """Dusk to dawn, local time, of the night an instant lies in or that follows it."""
    zone = ZoneInfo(time_zone)
    local = at.astimezone(zone)
    evening = local.date() - timedelta(days=1 if local.time() < DAWN else 0)
    # Times in the hour that summer time skips move forward; fold 0 of a double hour.
    start = datetime.combine(evening, DUSK, zone).astimezone(UTC)
    end = datetime.combine(evening + timedelta(days=1), DAWN, zone).astimezone(UTC)
    return start, end


def _title(what: str, subject: str, flags: list[Flag]) -> str:
    is_over = all(flag.cleared_at for flag in flags)
    return f"{'Over: ' if is_over else ''}{what}: {subject}"


def _evidence(flag: Flag) -> Iterator[str]:
    for said in flag.evidence:
        value = measured(said.get("value"), said.get("unit", ""))
        has_value = said.get("value") is not None
        yield f"{said['text']}: {value}" if has_value else said["text"]


def _over(flags: list[Flag]) -> list[str]:
    if not all(flag.cleared_at for flag in flags):
        return []
    return [f"Over since {max(f.cleared_at for f in flags):%a %d %b %Y, %H:%M} UTC."]


def _kept_for(flags: list[Flag], end: datetime) -> timedelta:
    """Two weeks from when the last was cleared; as other events while one stands."""
    if any(flag.cleared_at is None for flag in flags):
        return KEPT_PAST
    cleared_at = max(flag.cleared_at for flag in flags)
    return KEPT_ALERTS + max(timedelta(), cleared_at - end)
