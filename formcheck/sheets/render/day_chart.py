"""A chart of one value a day with its band, as inline SVG that can be read without colour."""

from dataclasses import dataclass

from jinja2 import Environment
from markupsafe import Markup

from formcheck.sheets.pages.changes import DayChart
from formcheck.words.words import Words

WIDTH, HEIGHT = 600, 220
"""Size in drawing units. Mechanical."""
_LEFT, _RIGHT, _TOP, _BOTTOM = 44.0, 14.0, 14.0, 28.0
"""Margins around the plot, for ticks. Mechanical."""
_STEPS = (0.5, 1, 2, 5, 10, 15, 30, 45, 60, 90, 180)
"""Round steps between ticks of the value. Mechanical."""
_MOST_DAY_TICKS = 6
"""Days that are written below the chart. Mechanical."""


@dataclass(frozen=True, slots=True)
class _Frame:
    first: int
    last: int
    bottom: float
    top: float

    def x(self, ordinal: int) -> float:
        span = max(self.last - self.first, 1)
        return round(_LEFT + (ordinal - self.first) / span * (WIDTH - _LEFT - _RIGHT), 1)

    def y(self, value: float) -> float:
        share = (value - self.bottom) / (self.top - self.bottom)
        return round(HEIGHT - _BOTTOM - share * (HEIGHT - _TOP - _BOTTOM), 1)


def draw_day_chart(
    environment: Environment, chart: DayChart, words: Words, key: str, *, standalone: bool = False
) -> Markup:
    """The chart as an SVG element; ``standalone`` carries its own styles, for the PDF."""
    frame = _frame(chart)
    days = [day.toordinal() for day in chart.days]
    points = [(frame.x(d), frame.y(v)) for d, v in zip(days, chart.values, strict=True)]
    half = chart.half_band or 0.0
    upper = [f"{x} {frame.y(v + half)}" for (x, _), v in zip(points, chart.values, strict=True)]
    lower = [f"{x} {frame.y(v - half)}" for (x, _), v in zip(points, chart.values, strict=True)]
    low, high = chart.limits[-1]
    svg = environment.get_template("day-chart.svg.jinja").render(
        key=key,
        standalone=standalone,
        size=(WIDTH, HEIGHT),
        plot=(_LEFT, WIDTH - _RIGHT, _TOP, HEIGHT - _BOTTOM),
        title=chart.title,
        desc=chart.desc,
        points=points,
        line="M" + "L".join(f"{x} {y}" for x, y in points),
        edge="M" + "L".join([*upper, *reversed(lower)]) + "z" if half and points[1:] else "",
        whiskers=[
            (x, frame.y(v + half), frame.y(v - half))
            for (x, _), v in zip(points, chart.values, strict=True)
        ]
        if half
        else [],
        limits=[frame.y(limit) for limit in (low, high) if limit is not None],
        y_ticks=[(frame.y(v), _tick(v, words)) for v in _value_ticks(frame)],
        x_ticks=[
            (frame.x(d), words.short_date(chart.days[0].fromordinal(d))) for d in _shown(days)
        ],
        unit=words.unit(chart.unit).strip(),
    )
    return Markup(svg)  # noqa: S704 - the template escapes all that it is given


def _frame(chart: DayChart) -> _Frame:
    half = chart.half_band or 0.0
    values = [v - half for v in chart.values] + [v + half for v in chart.values]
    values += [limit for limit in chart.limits[-1] if limit is not None]
    pad = 0.08 * max(max(values) - min(values), 1.0)
    days = [day.toordinal() for day in chart.days]
    return _Frame(days[0], days[-1], min(values) - pad, max(values) + pad)


def _value_ticks(frame: _Frame) -> list[float]:
    span = frame.top - frame.bottom
    step = next((s for s in _STEPS if span / s <= 5), span / 4)
    ticks = []
    value = step * int(frame.bottom // step + 1)
    while value < frame.top:
        ticks.append(value)
        value += step
    return ticks


def _shown(days: list[int]) -> list[int]:
    """The first and the last day and some between, no two so close that they run together."""
    apart = (days[-1] - days[0]) / _MOST_DAY_TICKS
    shown = [days[0]]
    for day in days[1:]:
        if day - shown[-1] >= apart and (day == days[-1] or days[-1] - day >= apart):
            shown.append(day)
    return shown


def _tick(value: float, words: Words) -> str:
    return words.number(value, 0 if float(value).is_integer() else 1)
