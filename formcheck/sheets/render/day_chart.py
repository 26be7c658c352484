"""A chart of one value a day with its band, as inline SVG that can be read without colour."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from jinja2 import Environment
from markupsafe import Markup

from formcheck.sheets.pages.changes import DayChart
from formcheck.words.words import Words

NARROW, WIDE, HEIGHT = 320, 600, 220
"""Widths for a phone and for paper, and the height, in drawing units. Mechanical."""
_LEFT, _RIGHT, _TOP, _BOTTOM = 44.0, 14.0, 14.0, 28.0
"""Margins around the plot, for ticks. Mechanical."""
_STEPS = (0.5, 1, 2, 5, 10, 15, 30, 45, 60, 90, 180)
"""Round steps between ticks of the value. Mechanical."""
_MOST_DAY_TICKS = {NARROW: 3, WIDE: 6}
"""Days that are written below the chart. Mechanical."""


@dataclass(frozen=True, slots=True)
class _Frame:
    width: int
    first: int
    last: int
    bottom: float
    top: float

    def x(self, ordinal: int) -> float:
        span = max(self.last - self.first, 1)
        return round(_LEFT + (ordinal - self.first) / span * (self.width - _LEFT - _RIGHT), 1)

    def y(self, value: float) -> float:
        share = (value - self.bottom) / (self.top - self.bottom)
        return round(HEIGHT - _BOTTOM - share * (HEIGHT - _TOP - _BOTTOM), 1)


def draw_day_chart(
    environment: Environment,
    chart: DayChart,
    words: Words,
    key: str,
    width: int = WIDE,
    *,
    standalone: bool = False,
) -> Markup:
    """The chart as an SVG element; ``standalone`` carries its own styles, for the PDF."""
    frame = _frame(chart, width)
    days = [day.toordinal() for day in chart.days]
    half = chart.half_band
    places = [frame.x(day) for day in days]
    band = (
        []
        if half is None
        else [
            (x, frame.y(v + half), frame.y(v - half))
            for x, v in zip(places, chart.values, strict=True)
        ]
    )
    points = [(x, frame.y(v)) for x, v in zip(places, chart.values, strict=True)]
    shown = _shown(chart.days, _MOST_DAY_TICKS[width])
    svg = environment.get_template("day-chart.svg.jinja").render(
        key=f"{key}-{width}",
        standalone=standalone,
        size=(width, HEIGHT),
        plot=(_LEFT, width - _RIGHT, _TOP, HEIGHT - _BOTTOM),
        title=chart.title,
        desc=chart.desc,
        points=points,
        line=_path(points),
        edge=_band_edge(band),
        whiskers=band,
        limits=[frame.y(limit) for limit in chart.limits[-1] if limit is not None],
        y_ticks=[(frame.y(v), _tick(v, words)) for v in _value_ticks(frame)],
        x_ticks=[(frame.x(day.toordinal()), words.short_date(day)) for day in shown],
        unit=words.unit(chart.unit).strip(),
    )
    return Markup(svg)  # noqa: S704 - the template escapes all that it is given


def _frame(chart: DayChart, width: int) -> _Frame:
    half = chart.half_band or 0.0
    values = [v - half for v in chart.values] + [v + half for v in chart.values]
    values += [limit for limit in chart.limits[-1] if limit is not None]
    pad = 0.08 * max(max(values) - min(values), 1.0)
    days = [day.toordinal() for day in chart.days]
    return _Frame(width, days[0], days[-1], min(values) - pad, max(values) + pad)


def _value_ticks(frame: _Frame) -> list[float]:
    span = frame.top - frame.bottom
    step = next((s for s in _STEPS if span / s <= 5), span / 4)
    ticks = []
    value = step * int(frame.bottom // step + 1)
    while value < frame.top:
        ticks.append(value)
        value += step
    return ticks


def _path(points: Sequence[tuple[float, float]]) -> str:
    return "M" + "L".join(f"{x} {y}" for x, y in points)


def _band_edge(band: Sequence[tuple[float, float, float]]) -> str:
    """The outline of the band; a single day has its whisker alone."""
    if len(band) < 2:
        return ""
    upper = [(x, top) for x, top, _ in band]
    lower = [(x, bottom) for x, _, bottom in reversed(band)]
    return _path([*upper, *lower]) + "z"


def _shown(days: Sequence[date], most: int) -> list[date]:
    """The first and the last day and some between, no two so close that they run together."""
    apart = (days[-1] - days[0]) / most
    shown = [days[0]]
    for day in days[1:]:
        if day - shown[-1] >= apart and (day == days[-1] or days[-1] - day >= apart):
            shown.append(day)
    return shown


def _tick(value: float, words: Words) -> str:
    return words.number(value, 0 if float(value).is_integer() else 1)
