"""A picture as it is given: to a browser as plain data, to paper as a drawing."""

from datetime import UTC, datetime
from typing import Any

import numpy as np

from wintering.climate.queries.charting import Aside
from wintering.science.series import HOUR_S
from wintering.web.charts.columns import Drawn, Picture
from wintering.web.charts.contents import Band, Chart, Event, Series, Span
from wintering.web.charts.lines import Floats
from wintering.web.charts.wording import aside_words, notes, summary

AROUND_S = HOUR_S // 2
"""A lone reading set aside is hatched so far to each side: own choice."""


def as_data(picture: Picture) -> dict[str, Any]:
    """Plain lists in the reader's unit, None where nothing is known."""
    grid = picture.grid
    return {
        "title": picture.title,
        "unit": picture.unit,
        "zone": picture.frame.time_zone,
        "start": picture.start_s,
        "end": picture.end_s,
        "first": grid.first_s,
        "step": grid.step_s,
        "count": grid.count,
        "gap_after": picture.gap_after_s,
        "has_years": not picture.is_laid_over,
        "lines": [_line(one, n) for n, one in enumerate(picture.drawn, 1)],
        "bands": [_band(band, picture.drawn[0]) for band in picture.bands],
        "nights": [] if picture.nights is None else picture.nights.tolist(),
        "asides": [
            {**_hatch(aside), "key": one.key, "words": aside_words(one, aside, picture)}
            for one in picture.drawn
            for aside in one.asides
        ],
        "events": [
            {"at": int(one.at.timestamp()), "word": one.word}
            for one in picture.happenings
        ],
        "summary": summary(picture),
        "notes": list(notes(picture)),
    }


def _line(one: Drawn, number: int) -> dict[str, Any]:
    return {
        "key": one.key,
        "number": number,
        "name": one.name,
        "place": one.place,
        "decimals": one.scale.decimals,
        "accuracy": one.scale.accuracy_words,
        "low": _plain(one.scale.told(one.line.low)),
        "high": _plain(one.scale.told(one.line.high)),
    }


def _plain(values: Floats) -> list[float | None]:
    """Thousandths are the finest that is stored."""
    rounded = values.round(3)
    found = rounded.astype(object)
    found[np.isnan(rounded)] = None
    plain: list[float | None] = found.tolist()
    return plain


def _band(band: Band, one: Drawn) -> dict[str, Any]:
    assert band.low is not None, "a safe band has both its ends"
    assert band.high is not None, "a safe band has both its ends"
    low, high = one.scale.told(band.low), one.scale.told(band.high)
    return {"low": round(low, 3), "high": round(high, 3), "name": band.name}


def _hatch(aside: Aside) -> dict[str, int]:
    around = AROUND_S if aside.codes else 0
    return {"start": aside.start_s - around, "end": aside.end_s + around}


def as_chart(picture: Picture) -> Chart:
    """For the drawing that needs no script; still in °C, as all drawings are."""
    return Chart(
        title=picture.title,
        unit="%" if picture.unit == "%" else "°C",
        since=picture.at(picture.start_s),
        until=picture.at(picture.end_s),
        zone=picture.zone,
        series=tuple(_series(one, picture) for one in picture.drawn),
        bands=picture.bands,
        spans=tuple(
            Span(picture.at(hatch["start"]), picture.at(hatch["end"]), "set aside")
            for one in picture.drawn
            for hatch in map(_hatch, one.asides)
        ),
        nights=tuple(
            Span(datetime.fromtimestamp(down, UTC), datetime.fromtimestamp(up, UTC))
            for down, up in ([] if picture.nights is None else picture.nights.tolist())
        ),
        events=tuple(Event(one.at, one.word) for one in picture.happenings),
        decimals=max((one.scale.decimals for one in picture.drawn), default=1),
        summary=summary(picture),
    )


def _series(one: Drawn, picture: Picture) -> Series:
    known = ~np.isnan(one.line.low)
    return Series(
        one.name,
        picture.grid.starts[known] + picture.grid.step_s / 2,
        one.line.low[known],
        gap_after_s=picture.gap_after_s,
        upper=one.line.high[known],
    )
