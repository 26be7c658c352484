"""A chart of a measure over time, as inline SVG that can be read without colour.

The value is a line with its uncertainty as a band along it; what is allowed is an area where it is
judged, hatched on paper; a limit of safety is a solid line with its words; each repetition is a
numbered bracket; where the value is unknown there is no line.
"""

from dataclasses import dataclass

import numpy as np
from jinja2 import Environment
from markupsafe import Markup

from formcheck.catalogue.arrays import FloatArray
from formcheck.sheets.pages.chart_spec import Band, Bracket, ChartSpec
from formcheck.text import capitalise_first
from formcheck.words.words import Words

NARROW, WIDE = 340, 600
"""Widths of a chart in drawing units, for a phone and for paper. Mechanical."""
_UNITS_PER_POINT = 3
"""Points of the line closer together than this would not be seen. Mechanical."""
_HEIGHT = {NARROW: 240, WIDE: 270}
"""Heights for those widths. Mechanical."""
_LEFT, _RIGHT, _TOP, _BOTTOM = 46.0, 8.0, 30.0, 26.0
"""Margins around the plot, for ticks and brackets. Mechanical."""
_TIME_STEPS_S = (1, 2, 5, 10, 15, 30, 60, 120, 300, 600)
"""Round steps between ticks. Mechanical."""
_MANY_BRACKETS, _MOST_BRACKETS, _BRACKET_STEPS = 40, 20, (5, 10, 20, 50, 100)
"""Of more repetitions than the first every fifth, tenth or the like is bracketed, so that there are
no more than the second. Mechanical.
"""
_VALUE_STEPS = (0.5, 1, 2, 5, 10, 15, 30, 45, 60, 90, 180)
"""Round steps between ticks. Mechanical."""
_LEAST_RANGE = {"deg": 20.0, "cm": 4.0}
"""The value axis spans at least this much, so that stillness does not look like movement.
A proposal.
"""


@dataclass(frozen=True, slots=True)
class _Frame:
    """The plot area in drawing units and the ranges it stands for."""

    width: int
    height: int
    start_s: float
    end_s: float
    bottom: float
    top: float
    upside_down: bool

    def x(self, time_s: float) -> float:
        share = (time_s - self.start_s) / (self.end_s - self.start_s)
        return round(_LEFT + min(max(share, 0.0), 1.0) * (self.width - _LEFT - _RIGHT), 1)

    def y(self, value: float) -> float:
        share = (value - self.bottom) / (self.top - self.bottom)
        share = 1 - share if self.upside_down else share
        return round(self.height - _BOTTOM - share * (self.height - _TOP - _BOTTOM), 1)

    def points(self, time_s: FloatArray, value: FloatArray) -> list[str]:
        """``x`` and ``y`` of many points at once, as they stand in a path."""
        across = np.clip((time_s - self.start_s) / (self.end_s - self.start_s), 0.0, 1.0)
        up = (value - self.bottom) / (self.top - self.bottom)
        up = 1 - up if self.upside_down else up
        x = np.round(_LEFT + across * (self.width - _LEFT - _RIGHT), 1)
        y = np.round(self.height - _BOTTOM - up * (self.height - _TOP - _BOTTOM), 1)
        return [f"{a} {b}" for a, b in zip(x.tolist(), y.tolist(), strict=True)]


def draw_chart(
    environment: Environment,
    spec: ChartSpec,
    words: Words,
    width: int = WIDE,
    *,
    standalone: bool = False,
) -> Markup:
    """The chart as an SVG element; ``standalone`` carries its own styles, for the PDF."""
    frame = _frame(spec, width)
    thin = max(len(spec.time_s) * _UNITS_PER_POINT // width, 1)
    time_s, value, sd = spec.time_s[::thin], spec.value[::thin], spec.sd[::thin]
    svg = environment.get_template("chart.svg.jinja").render(
        spec=spec,
        id=f"{spec.key}-{width}",
        standalone=standalone,
        small=width == NARROW,
        frame=frame,
        plot=(_LEFT, width - _RIGHT, _TOP, frame.height - _BOTTOM),
        title=words("chart.title", measure=capitalise_first(spec.label)),
        desc=_description(spec, words),
        line=_path(frame, time_s, value),
        edge=_uncertainty_edge(frame, time_s, value, sd),
        other="" if spec.other is None else _path(frame, time_s, spec.other[::thin]),
        bands=[area for band in spec.bands for area in _hatched_areas(frame, band)],
        limits=sorted({frame.y(limit) for band in spec.bands for limit in band.limits}),
        brackets=[(b, frame.x(b.start_s), frame.x(b.end_s)) for b in _bracketed(spec.brackets)],
        misses=[
            (frame.x(t), frame.y(on_line), words.quantity(told, spec.unit))
            for t, on_line, told in _points_outside(spec)
            if np.isfinite(on_line)
        ],
        safety=[(frame.y(limit.value), limit.text) for limit in spec.safety],
        y_ticks=[
            (frame.y(v), _tick(v, words) + words.unit(spec.unit)) for v in _value_ticks(frame)
        ],
        x_ticks=[(frame.x(t), words.moment(t)) for t in _time_ticks(frame)],
    )
    return Markup(svg)  # noqa: S704 - the template escapes all that it is given


def _bracketed(brackets: tuple[Bracket, ...]) -> tuple[Bracket, ...]:
    """All repetitions, or every fifth, tenth or the like where there is no room for all."""
    if len(brackets) <= _MANY_BRACKETS:
        return brackets
    fits = (step for step in _BRACKET_STEPS if len(brackets) <= step * _MOST_BRACKETS)
    step = next(fits, _BRACKET_STEPS[-1])
    return brackets[step - 1 :: step]


def _frame(spec: ChartSpec, width: int) -> _Frame:
    parts = [spec.value - spec.sd, spec.value + spec.sd]
    parts += [] if spec.other is None else [spec.other]
    values = np.concatenate([*parts, _limits(spec)])
    known = values[np.isfinite(values)]
    low, high = (known.min(), known.max()) if len(known) else (0.0, 1.0)
    lacking = max(_LEAST_RANGE.get(spec.unit, 1.0) - (high - low), 0.0) / 2
    pad = 0.06 * (high - low) + lacking
    start = float(spec.time_s[0]) if len(spec.time_s) else 0.0
    end = max(float(spec.time_s[-1]) if len(spec.time_s) else 1.0, start + 0.1)
    ends = float(low - pad), float(high + pad)
    return _Frame(width, _HEIGHT[width], start, end, *ends, spec.more_is_lower)


def _limits(spec: ChartSpec) -> list[float]:
    ends = [limit for band in spec.bands for limit in band.limits]
    return ends + [limit.value for limit in spec.safety]


def _runs(known: FloatArray) -> list[slice]:
    """Slices over which the values are known without a break."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], np.isfinite(known), [False]])))
    return [slice(int(a), int(b)) for a, b in edges.reshape(-1, 2)]


def _path(frame: _Frame, time_s: FloatArray, value: FloatArray) -> str:
    parts = []
    for run in _runs(value):
        points = frame.points(time_s[run], value[run])
        parts.append("M" + "L".join(points) + ("h0.1" if len(points) == 1 else ""))
    return "".join(parts)


def _uncertainty_edge(frame: _Frame, time_s: FloatArray, value: FloatArray, sd: FloatArray) -> str:
    parts = []
    for run in _runs(value + sd):
        times = time_s[run]
        points = frame.points(times, (value + sd)[run])
        points += frame.points(times[::-1], (value - sd)[run][::-1])
        parts.append("M" + "L".join(points) + "z")
    return "".join(parts)


def _hatched_areas(frame: _Frame, band: Band) -> list[tuple[float, float, float, float]]:
    """x, y, width and height of a band's hatched areas."""
    high = frame.y(frame.top if band.high is None else band.high)
    low = frame.y(frame.bottom if band.low is None else band.low)
    top, bottom = min(high, low), max(high, low)
    spans = [(frame.x(start), frame.x(end)) for start, end in band.spans]
    return [(a, top, max(round(b - a, 1), 1.5), round(bottom - top, 1)) for a, b in spans]


def _points_outside(spec: ChartSpec) -> list[tuple[float, float, float]]:
    """The time, the place on the line and the value that is told of each miss."""
    nearest = [(int(np.abs(spec.time_s - t).argmin()), v) for t, v in spec.misses]
    return [(float(spec.time_s[i]), float(spec.value[i]), v) for i, v in nearest]


def _value_ticks(frame: _Frame) -> list[float]:
    span = frame.top - frame.bottom
    step = next((s for s in _VALUE_STEPS if span / s <= 5), span / 4)
    first = np.ceil(frame.bottom / step) * step
    return [float(v) for v in np.arange(first, frame.top, step)]


def _time_ticks(frame: _Frame) -> list[float]:
    span, most = frame.end_s - frame.start_s, 5 if frame.width == NARROW else 9
    step = next((s for s in _TIME_STEPS_S if span / s <= most), span / most)
    first = np.ceil(frame.start_s / step) * step
    return [float(t) for t in np.arange(first, frame.end_s + 1e-6, step)]


def _tick(value: float, words: Words) -> str:
    return words.number(value, 0 if float(value).is_integer() else 1)


def _description(spec: ChartSpec, words: Words) -> str:
    known = spec.value[np.isfinite(spec.value)]
    if len(known) == 0:
        return words("chart.empty", measure=capitalise_first(spec.label))
    limits = [words.limits(band.low, band.high, spec.unit) for band in spec.bands]
    count = len(spec.brackets)
    return words(
        "chart.desc",
        measure=capitalise_first(spec.label),
        start=words.moment(float(spec.time_s[0])),
        end=words.moment(float(spec.time_s[-1])),
        low=words.quantity(float(known.min()), spec.unit),
        high=words.quantity(float(known.max()), spec.unit),
        reps=words.count("chart.desc_reps", count, kind=words.kind(spec.kind, count)),
        limits=words("chart.desc_limits", limits="; ".join(limits)) if limits else "",
    )
