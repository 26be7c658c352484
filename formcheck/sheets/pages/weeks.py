"""A client over the weeks, in words: one page for the client and one for the coach."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Literal

from formcheck.records.adherence import WEEK, Adherence, Done, ItemWeek, adherence_of
from formcheck.records.answers import (
    Answer,
    Clearance,
    answers_of,
    clearances_of,
    open_answers,
)
from formcheck.records.baseline import against_baseline
from formcheck.records.limits import PassedLimit, passed_limits
from formcheck.records.phases import most_pain_of
from formcheck.records.progress import Series, between_sides, series_of
from formcheck.records.readiness import Readiness, readiness_of
from formcheck.records.reliability import Basis
from formcheck.records.sets import RecordedSet, sets_of
from formcheck.records.store import Store
from formcheck.sheets.pages.changes import (
    ChangeCard,
    SidesRow,
    change_card,
    sides_row,
    signed_row,
)
from formcheck.sheets.pages.decisions import decisions, overruled_lines
from formcheck.sheets.pages.exercise_names import exercise_title
from formcheck.sheets.pages.ready import passed_line, ready_lines
from formcheck.words.stop import StopCard, for_coach, stop_card, stop_reasons
from formcheck.words.words import UNKNOWN, Words

Reader = Literal["client", "coach"]


@dataclass(frozen=True, slots=True)
class WeekRow:
    """One week of the calendar: its first day and a sign for each of seven days."""

    first_day: str
    signs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ItemTable:
    """An exercise, and for each week a row of cells: week, days, how, sets, repetitions, and held in all
    where it is held.
    """

    title: str
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class WeeksPage:
    """The page, top to bottom; what is empty is left out."""

    title: str
    role: str
    alias: str
    span: str
    stop: StopCard | None
    now: tuple[str, ...]
    weekdays: tuple[str, ...]
    calendar: tuple[WeekRow, ...]
    limits: tuple[str, ...]
    items: tuple[ItemTable, ...]
    extra: str
    cards: tuple[ChangeCard, ...]
    no_cards: str
    cards_note: str
    sides: tuple[SidesRow, ...]
    signed: tuple[tuple[str, str, str], ...]
    said: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...]
    overruled: tuple[str, ...]


def weeks_page(
    store: Store, alias: str, until: date, words: Words, reader: Reader, *, is_over: bool = True
) -> WeeksPage:
    """Everything that is recorded of a client up to a day, for the client or for the coach.

    ``is_over`` is whether that day is over: on one that is not, what was not done may still be.

    Raises RecordsError if there is no such client.
    """
    sets = [one for one in sets_of(store, alias) if one.day <= until]
    answers = [one for one in answers_of(store, alias) if one.day <= until]
    passed = [one for one in passed_limits(store, alias) if one.day <= until]
    done = adherence_of(store, alias, until, is_over=is_over)
    ready = readiness_of(store, alias, until)
    series = _distinct(series_of(sets))
    coach = reader == "coach"
    shown = [one for one in series if coach or one.told_change]
    cards = [change_card(one, words) for one in shown]
    most = most_pain_of(store, alias, until)
    stop = _stop(store, alias, until, words, most)
    cleared = clearances_of(store, alias) if coach else []
    first = min([one.day for one in sets] + ([done.first_day] if done else []), default=until)
    return WeeksPage(
        title=words(f"weeks.{reader}_title", alias=alias),
        role=words(f"weeks.for_{reader}"),
        alias=alias,
        span=words("weeks.span", start=words.date(first), end=words.date(until)),
        stop=for_coach(stop, words) if coach else stop,
        now=_now(ready, alias, words, reader),
        weekdays=tuple(words.weekday(done.first_day + timedelta(days=k)) for k in range(7))
        if done
        else (),
        calendar=_calendar(done, passed, words),
        limits=tuple(passed_line(one, words) for one in passed),
        items=_items(done, words) if done else (),
        extra=_extra(done, words) if coach else "",
        cards=tuple(cards),
        no_cards=_no_cards(series, cards, words),
        cards_note=_cards_note(shown, words),
        sides=_sides(series, words) if coach else (),
        signed=_signed(store, alias, sets, words) if coach else (),
        said=tuple(_said(one, words, most, cleared) for one in answers),
        notes=decisions(store, alias, until, sets, words) if coach else (),
        overruled=overruled_lines(store, alias, sets, words) if coach else (),
    )


def _distinct(series: Sequence[Series]) -> list[Series]:
    """Series without those that another check reads in the same way: a limit beside a target."""
    found: dict[tuple[object, ...], Series] = {}
    for one in series:
        readings = tuple((point.day, point.value) for point in one.points)
        found.setdefault((replace(one.subject, check_id=""), one.context, readings), one)
    return list(found.values())


def _stop(store: Store, alias: str, until: date, words: Words, most: int) -> StopCard | None:
    """What the coach has still to look into."""
    waiting = [one for one in open_answers(store, alias, most_pain=most) if one.day <= until]
    return stop_card(waiting, words, most, days=True)


def _now(ready: Readiness | None, alias: str, words: Words, reader: Reader) -> tuple[str, ...]:
    if ready is None:
        return (words("weeks.no_programme"),)
    if reader == "coach":
        return tuple(ready_lines(ready, alias, words))
    return (words("weeks.phase", phase=ready.phase, since=words.date(ready.since)),)


def _calendar(
    done: Adherence | None, passed: Sequence[PassedLimit], words: Words
) -> tuple[WeekRow, ...]:
    if done is None:
        return ()
    alarms = {one.day for one in passed}
    rows = []
    begin = done.first_day
    while begin <= done.last_day:
        week = [begin + timedelta(days=k) for k in range(7)]
        signs = tuple(_sign(day, done, alarms) for day in week)
        rows.append(WeekRow(words.short_date(begin), signs))
        begin += WEEK
    return tuple(rows)


def _sign(day: date, done: Adherence, alarms: set[date]) -> str:
    """One letter for a day; none for one that has not come."""
    if day > done.last_day:
        return ""
    what = done.days.get(day, Done())
    letter = {(True, True): "B", (True, False): "F", (False, True): "T", (False, False): "·"}
    sign = letter[what.filmed_sets > 0, what.ticked_sets > 0]
    return f"{sign}!" if day in alarms else sign


def _items(done: Adherence, words: Words) -> tuple[ItemTable, ...]:
    """A table for each exercise of each phase, which is named where there are several, or one anew."""
    several = len({one.since for one in done.items}) > 1
    return tuple(
        ItemTable(
            words(
                "weeks.item_in_phase" if several else "weeks.item",
                exercise=exercise_title(one.exercise, words),
                side=words(f"side.{one.side}"),
                phase=one.phase,
                day=words.date(one.since),
            ),
            tuple(_week(week, words) for week in one.weeks),
        )
        for one in done.items
    )


def _week(week: ItemWeek, words: Words) -> tuple[str, ...]:
    """Week, days, how, sets, repetitions, and seconds held where it is held.

    Where the programme does not say on how many days a week, what was done stands alone.
    """

    def of(number: float, asked: float | None, unit: str = "") -> str:
        if week.days_asked is None or asked is None:
            return words.number(number, 0) + unit
        whole = words.number(asked, 0) + unit
        return words("weeks.of", done=words.number(number, 0), asked=whole)

    numbers = {
        "filmed": week.days_filmed,
        "ticked": week.days_ticked,
        **{name: getattr(week, name) for name in ("late", "missed", "open")},
    }
    how = "; ".join(words.count(f"weeks.{name}", n) for name, n in numbers.items() if n)
    done = week.done
    held = [of(done.held_s, week.held_asked_s, words.unit("s"))] if week.held_asked_s else []
    return (
        words.short_date(week.first_day),
        of(week.days_done, week.days_asked),
        how or UNKNOWN,
        of(done.filmed_sets + done.ticked_sets, week.sets_asked),
        of(done.count, week.count_asked),
        *held,
    )


def _extra(done: Adherence | None, words: Words) -> str:
    if done is None or not done.extra:
        return ""
    what = (f"{exercise_title(name, words)} ({words.date(day)})" for name, day in done.extra)
    return words("weeks.extra", what="; ".join(what))


def _no_cards(series: Sequence[Series], cards: Sequence[ChangeCard], words: Words) -> str:
    if cards:
        return ""
    return words("weeks.no_change_client" if series else "weeks.nothing")


def _cards_note(shown: Sequence[Series], words: Words) -> str:
    """What a change is here, and what its error rests on."""
    stated = any(one.sem is not None and one.sem.basis is Basis.STATED for one in shown)
    more = f" {words('weeks.sem_stated')}" if stated else ""
    return words("weeks.changes_note") + more if shown else ""


def _sides(series: Sequence[Series], words: Words) -> tuple[SidesRow, ...]:
    rows = (sides_row(left, right, words) for left, right in between_sides(series))
    return tuple(row for row in rows if row is not None)


def _signed(
    store: Store, alias: str, sets: Sequence[RecordedSet], words: Words
) -> tuple[tuple[str, str, str], ...]:
    """The latest set of each exercise and side beside the one that was signed, if one was."""
    rows = against_baseline(store, alias)
    latest = {(one.exercise, one.side): one.id for one in sets if one.id in rows}
    return tuple(signed_row(row, words) for number in latest.values() for row in rows[number])


def _said(answer: Answer, words: Words, most: int, cleared: Sequence[Clearance]) -> tuple[str, ...]:
    """The day, the numbers, and in words what else was said, what of it means to stop, who looked."""
    told = (
        answer.pain_before,
        answer.pain_during,
        answer.pain_after,
        answer.pain_next_morning,
        answer.effort,
    )
    numbers = (UNKNOWN if one is None else str(one) for one in told)
    text = "; ".join(part for part in (answer.stopped_by, answer.words) if part)
    reasons = stop_reasons(answer, words, most)
    looked = next((one for one in cleared if reasons and answer.day <= one.through_day), None)
    more = [words("weeks.looked_into", by=looked.by)] if looked else []
    parts = [part for part in (text, *reasons, *more) if part]
    ended = [part if part.endswith((".", "!", "?")) else f"{part}." for part in parts[:-1]]
    return (words.short_date(answer.day), *numbers, " ".join([*ended, *parts[-1:]]))
