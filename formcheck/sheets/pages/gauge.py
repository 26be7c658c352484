"""The gauge that every mark is: limits as rails, the value as a dot at its place, its uncertainty.

One drawing for pages, paper and clip, in a box of 24 by 44 units with y down. More is drawn higher,
but for hips that sag. Between two limits the place is linear; beyond a limit, and inside a single
one, it is compressed, so that the dot stays in the box and never changes order.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from formcheck.catalogue.codes import Verdict
from formcheck.checks.result import Finding

WIDTH, HEIGHT = 24.0, 44.0
"""The box of a mark in drawing units. Mechanical."""
_HIGH, _LOW = 12.0, 32.0
"""Where the rails of the upper and the lower limit lie. Mechanical."""
_BETWEEN = _LOW - _HIGH
_MIDDLE = (_HIGH + _LOW) / 2
_REACH = 9.0
"""The farthest that a value is drawn beyond a rail. Mechanical."""
_CLEAR, _INSIDE, _SEAM = 4.4, 4.6, 1.4
"""How far the dot of something outside stays off the rail, and that of something within, and the end
of either's whisker: less would look like touching it. Mechanical.
"""
_SCALE = {"deg": 20.0, "cm": 3.0, "s": 2.0, "deg/s": 40.0, "cm/s": 10.0}
_SCALE_OTHERWISE = 0.3
"""What a single limit's gauge shows as wide as the space between two rails. A proposal."""
_WHISKER_INSIDE, _WHISKER_BEYOND = 1.2816, 1.6449
"""Standard uncertainties to either side: 10 % of a normal distribution lie beyond the first and 5 %
beyond the second, as the decision rule asks of what is within and of what is outside. Mechanical.
"""
MORE_IS_LOWER = frozenset({"hip_off_line"})
"""Measures that are drawn upside down, as they say how far something hangs."""

DotInk = Literal["within", "open", "centre", "outside", "partial"]
LineInk = Literal["rail", "safety", "broken", "whisker", "unknown"]
_RADIUS: Mapping[DotInk, float] = {
    "within": 3.6, "open": 3.3, "centre": 1.1, "outside": 3.0, "partial": 3.0,
}  # fmt: skip
"""Small, so that the whisker shows; the mark itself is small enough. Mechanical."""


@dataclass(frozen=True, slots=True)
class Line:
    """A straight stroke from (x0, y0) to (x1, y1)."""

    x0: float
    y0: float
    x1: float
    y1: float
    ink: LineInk


@dataclass(frozen=True, slots=True)
class Dot:
    """A dot about (x, y), filled or open by its ink."""

    x: float
    y: float
    radius: float
    ink: DotInk


@dataclass(frozen=True, slots=True)
class Gauge:
    """A mark as it is drawn: the lines first, then the dots over them."""

    lines: tuple[Line, ...]
    dots: tuple[Dot, ...]


def gauge_of(finding: Finding) -> Gauge:
    """The gauge of one check: its own limits, value and uncertainty."""
    flipped = finding.measure in MORE_IS_LOWER
    rails = [
        HEIGHT - y if flipped else y
        for y, limit in ((_HIGH, finding.high), (_LOW, finding.low))
        if limit is not None
    ]
    if finding.value is None or finding.verdict == Verdict.NOT_MEASURABLE or not rails:
        return _unknown(rails or [_HIGH, _LOW])
    rail_ink: LineInk = "safety" if finding.safety_limit else "rail"
    place, ends = _places(finding, finding.value)
    if flipped:
        place, ends = HEIGHT - place, (HEIGHT - ends[1], HEIGHT - ends[0])
    top, bottom = round(min(ends[0], place), 1), round(max(ends[1], place), 1)
    whisker = Line(WIDTH / 2, top, WIDTH / 2, bottom, "whisker")
    lines = (*(_rail(y, rail_ink) for y in rails), whisker)
    return Gauge(lines, _dots(finding, round(place, 1)))


def plain_gauge(name: str) -> Gauge:
    """The gauge that stands for a verdict in general: in keys, in counts, for a whole repetition."""
    both = tuple(_rail(y, "rail") for y in (_HIGH, _LOW))
    centre = WIDTH / 2

    def at(top: float, bottom: float, *dots: Dot) -> Gauge:
        return Gauge((*both, Line(centre, top, centre, bottom, "whisker")), dots)

    match name:
        case "within":
            return Gauge(both, (Dot(centre, _MIDDLE, _RADIUS["within"], "within"),))
        case "done":
            return Gauge(both, (Dot(centre, _MIDDLE, _RADIUS["open"], "open"),))
        case "probably-fine":
            return at(9.0, 24.0, Dot(centre, 16.5, _RADIUS["open"], "open"))
        case "borderline":
            return at(3.0, 17.0, *_pierced(10.0))
        case "outside":
            return at(0.5, 10.0, Dot(centre, 5.0, _RADIUS["outside"], "outside"))
        case "partial":
            lines = tuple(Line(0, y, centre, y, "rail") for y in (_HIGH, _LOW))
            return Gauge(lines, (Dot(centre, _MIDDLE, _RADIUS["partial"], "partial"),))
    return _unknown([_HIGH, _LOW])


def _places(finding: Finding, value: float) -> tuple[float, tuple[float, float]]:
    """The dot's y and the whisker's upper and lower end, on the side of the rails of the verdict."""
    low, high = finding.low, finding.high
    above, below = high is not None and value > high, low is not None and value < low
    reach = _WHISKER_BEYOND if above or below else _WHISKER_INSIDE
    spread = reach * (finding.uncertainty or 0.0)
    y, top, bottom = (_y(finding, v) for v in (value, value + spread, value - spread))
    if finding.verdict == Verdict.WITHIN:
        least = _HIGH if high is not None else 0.0
        most = _LOW if low is not None else HEIGHT
        y = min(max(y, least + _INSIDE), most - _INSIDE)
        return y, (max(top, least + _SEAM), min(bottom, most - _SEAM))
    if finding.verdict == Verdict.OUTSIDE and above:
        return min(y, _HIGH - _CLEAR), (top, min(bottom, _HIGH - _SEAM))
    if finding.verdict == Verdict.OUTSIDE:
        return max(y, _LOW + _CLEAR), (max(top, _LOW + _SEAM), bottom)
    rails = [rail for rail, limit in ((_HIGH, high), (_LOW, low)) if limit is not None]
    rail = min(rails, key=lambda one: abs(one - y))
    return y, (min(top, rail), max(bottom, rail))


def _y(finding: Finding, value: float) -> float:
    """Where a value lies: on its limits' rails exactly, with the same slope on either side."""
    low, high = finding.low, finding.high
    width = high - low if low is not None and high is not None else 0.0
    scale = width or _SCALE.get(finding.unit, _SCALE_OTHERWISE)

    def off(distance: float, most: float) -> float:
        return most * distance / (distance + most * scale / _BETWEEN)

    if high is not None and value > high:
        return _HIGH - off(value - high, _REACH)
    if low is not None and value < low:
        return _LOW + off(low - value, _REACH)
    if width:
        return _LOW - _BETWEEN * (value - (low or 0.0)) / width
    if high is not None:
        return _HIGH + off(high - value, _BETWEEN + _REACH)
    return _LOW - off(value - (low or 0.0), _BETWEEN + _REACH)


def _dots(finding: Finding, y: float) -> tuple[Dot, ...]:
    if finding.verdict == Verdict.WITHIN:
        return (Dot(WIDTH / 2, y, _RADIUS["within"], "within"),)
    if finding.verdict == Verdict.OUTSIDE:
        return (Dot(WIDTH / 2, y, _RADIUS["outside"], "outside"),)
    # What may have passed a limit of safety is never drawn as what is probably fine.
    fine = finding.probably_fine and not finding.safety_limit
    return (Dot(WIDTH / 2, y, _RADIUS["open"], "open"),) if fine else _pierced(y)


def _pierced(y: float) -> tuple[Dot, Dot]:
    centre = WIDTH / 2
    return Dot(centre, y, _RADIUS["open"], "open"), Dot(centre, y, _RADIUS["centre"], "centre")


def _rail(y: float, ink: LineInk) -> Line:
    return Line(0, y, WIDTH, y, ink)


def _unknown(rails: list[float]) -> Gauge:
    middle = Line(WIDTH / 2 - 3, _MIDDLE, WIDTH / 2 + 3, _MIDDLE, "unknown")
    return Gauge((*(_rail(y, "broken") for y in rails), middle), ())
