"""What the other winters of a place say of the one to come."""

from collections.abc import Iterator
from datetime import date

from wintering.forecast.findings.statements import Statement, day_words
from wintering.forecast.queries.futures import Ahead
from wintering.science.budbreak import Budbreak, BudbreakOutlook, DatePoints

LEAST_WINTERS = 3
"""Of fewer no share is told: own choice."""


def ahead_evidence(ahead: Ahead) -> Iterator[Statement]:
    """Rest and budbreak to come, by each way of putting chill and warmth together."""
    read = ahead.futures.words
    yield Statement("Winters gone through", len(ahead.futures.winters), "", read)
    found = ahead.budbreak
    if found is None:
        return
    yield Statement(
        f"Chill fulfilled{_cases(found)}",
        _points(found.rest_complete),
        "",
        read,
    )
    for structure, budbreak in found.by_structure.items():
        yield Statement(
            f"Budbreak by the {structure} form, earliest, middle, latest",
            _spread(budbreak),
            "",
            structure.words,
        )
    yield Statement(
        "Least distance of the ends from the middle, while the tree's own dates are "
        "not known",
        found.margin_days,
        "d",
        "common practice",
    )
    yield Statement(
        f"Warmth asked for: the curve '{found.curve.name}'",
        None,
        "",
        f"{found.curve.source} ({found.curve.evidence})",
    )


def _cases(found: BudbreakOutlook) -> str:
    """Of few winters no share is told: two are two cases, not a spread."""
    cases = f"{found.members} × {len(found.needs)} cases"
    is_spread = found.members >= LEAST_WINTERS
    points = " in 10, 50, 90 %" if is_spread else ", early, middle, late"
    return f"{points} of the {cases} (winters gone through × needs within the range)"


def _points(points: DatePoints) -> str:
    return _dates(points.p10, points.p50, points.p90)


def _spread(budbreak: Budbreak) -> str:
    return _dates(budbreak.earliest, budbreak.points.p50, budbreak.latest)


def _dates(*days: date | None) -> str:
    return ", ".join(day_words(day) if day else "not by 31 July" for day in days)
