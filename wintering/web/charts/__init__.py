"""Charts as drawings: what is to be shown in, positions and words out.

A chart is drawn once for every width of screen and paper: along the time axis
everything lies in per cent or in columns that stretch, up the value axis in pixels.
"""

from wintering.web.charts.contents import (
    Band,
    Chart,
    Event,
    Fan,
    Series,
    Span,
    Threshold,
    in_fahrenheit,
)
from wintering.web.charts.drawing import Drawing, draw

__all__ = [
    "Band",
    "Chart",
    "Drawing",
    "Event",
    "Fan",
    "Series",
    "Span",
    "Threshold",
    "draw",
    "in_fahrenheit",
]
