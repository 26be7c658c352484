"""How a measure changed over the sessions, in words and as what a chart shows."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from statistics import fmean

from formcheck.records.baseline import AgainstBaseline
from formcheck.records.progress import Change, Point, Series
from formcheck.records.reliability import NORMAL_95, smallest_detectable_change
from formcheck.sheets.pages.exercise_names import subject_title
from formcheck.words.words import UNKNOWN, Words


@dataclass(frozen=True, slots=True)
class DayChart:
    """What a chart over days shows: a value a day, its 95 % band, and the limits then in force."""

    title: str
    desc: str
    unit: str
    days: tuple[date, ...]
    values: tuple[float, ...]
    half_band: float | None
    limits: tuple[tuple[float | None, float | None], ...]


@dataclass(frozen=True, slots=True)
class ChangeCard:
    """One series: what it is of, what can be told, and its chart, which one day has none of."""

    title: str
    context: str
    told: str
    meaning: str
    differs: str
    changed: bool
    chart: DayChart | None


@dataclass(frozen=True, slots=True)
class SidesRow:
    """The latest means of both arms, how far they are apart, and what error explains of that."""

    what: str
    left: str
    right: str
    apart: str
    error: str


def change_card(series: Series, words: Words) -> ChangeCard:
    """A series as the page tells of it."""
    subject, context = series.subject, series.context
    title = subject_title(subject, words)
    told = _told(series, words)
    load = words("weeks.with_load", load=context.load) if context.load else ""
    view = words(f"view.{context.view}") if words.knows("view", context.view) else context.view
    differs = ", ".join(words(f"weeks.differ_{name}") for name in series.differs)
    place = "" if series.place_known else words("weeks.place_unknown")
    return ChangeCard(
        title=title,
        context=" ".join(filter(None, (words("weeks.context", view=view, load=load), place))),
        told=told,
        meaning=_meaning(series, words),
        differs=words("weeks.differs", what=differs) if differs else "",
        changed=series.told_change,
        chart=None if len(series.points) == 1 else _chart(series, title, told, words),
    )


def sides_row(left: Series, right: Series, words: Words) -> SidesRow | None:
    """Both arms beside each other; None where one has no session yet."""
    if not left.points or not right.points:
        return None
    k1, k2 = max(left.k2, 1), max(right.k2, 1)
    means = [fmean(p.value for p in one.points[-k:]) for one, k in ((left, k1), (right, k2))]
    sems = [one.sem.value for one in (left, right) if one.sem is not None]
    error = smallest_detectable_change(max(sems), k1, k2) if len(sems) == 2 else None
    unit = left.subject.unit
    return SidesRow(
        subject_title(left.subject, words).rpartition(", ")[0],
        words.quantity(means[0], unit),
        words.quantity(means[1], unit),
        words.quantity(abs(means[0] - means[1]), unit),
        UNKNOWN if error is None else words.quantity(error, unit),
    )


def signed_row(one: AgainstBaseline, words: Words) -> tuple[str, str, str]:
    """What it is of, its value, and how it changed from the signed set or why that is not told."""
    unit, since = one.subject.unit, words.date(one.since)
    if one.change is None:
        names = (f"weeks.differ_{name}" for name in one.differs if name != "error")
        what = ", ".join(map(words, names))
        key = "weeks.signed_differs" if what else "weeks.signed_error"
        told = words(key, since=since, what=what)
    else:
        more = words("weeks.signed_more" if one.told else "weeks.signed_within")
        change = words.measured(one.change, one.uncertainty, unit)
        told = words("weeks.signed_change", change=change, since=since, told=more)
        told += "" if one.place_known else f". {words('weeks.place_unknown')}"
    value = words.measured(one.value, one.absolute_sd, unit)
    return subject_title(one.subject, words), value, told


def _told(series: Series, words: Words) -> str:
    unit = series.subject.unit
    if series.told is Change.TOO_FEW:
        (only,) = series.points
        value = words.measured(only.value, series.stated_sd, unit)
        return words("weeks.change_too-few", value=value, day=words.date(only.day))
    before, after = _ends(series)
    text = words(
        f"weeks.change_{series.told}",
        before=words.quantity(before, unit),
        after=words.quantity(after, unit),
        sdc=words.quantity(series.sdc, unit),
    )
    sem = series.sem
    return f"{text} {words('weeks.sem_own')}" if sem is not None and sem.own_freedom else text


def _ends(series: Series) -> tuple[float, float]:
    """The means of the first and the last sessions, whose difference is the change."""
    values = [point.value for point in series.points]
    return fmean(values[: series.k1]), fmean(values[-series.k2 :])


def _meaning(series: Series, words: Words) -> str:
    """Whether a change that is told leads nearer to what is asked, where that has limits."""
    if not series.told_change:
        return ""
    before, after = (_beyond(v, series.points[-1]) for v in _ends(series))
    if before == after:
        return ""
    return words("weeks.nearer" if after < before else "weeks.further")


def _beyond(value: float, point: Point) -> float:
    """How far a value lies outside what was asked last."""
    low = 0.0 if point.low is None else max(point.low - value, 0.0)
    high = 0.0 if point.high is None else max(value - point.high, 0.0)
    return max(low, high)


def _chart(series: Series, title: str, told: str, words: Words) -> DayChart:
    points: Sequence[Point] = series.points
    unit = series.subject.unit
    return DayChart(
        title=words("weeks.chart", what=title),
        desc=words(
            "weeks.chart_desc",
            what=title,
            days=len(points),
            first=words.quantity(points[0].value, unit),
            last=words.quantity(points[-1].value, unit),
            told=told,
        ),
        unit=unit,
        days=tuple(point.day for point in points),
        values=tuple(point.value for point in points),
        half_band=None if series.stated_sd is None else NORMAL_95 * series.stated_sd,
        limits=tuple((point.low, point.high) for point in points),
    )
