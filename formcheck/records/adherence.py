"""Done against prescribed, by exercise and week: what was filmed, ticked off, late, missed."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise

from formcheck.exercises.programme import Prescription
from formcheck.records.answers import Ticked, ticked_of
from formcheck.records.phases import Stretch, stretches
from formcheck.records.sets import RecordedSet, sets_of
from formcheck.records.store import Store

WEEK = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Done:
    """What was done of one exercise on one day. ``held_s`` is in all sets together."""

    filmed_sets: int = 0
    ticked_sets: int = 0
    sets_met: int = 0
    count: int = 0
    held_s: float = 0.0

    def __add__(self, other: "Done") -> "Done":
        return Done(
            self.filmed_sets + other.filmed_sets,
            self.ticked_sets + other.ticked_sets,
            self.sets_met + other.sets_met,
            self.count + other.count,
            self.held_s + other.held_s,
        )


@dataclass(frozen=True, slots=True)
class ItemWeek:
    """One prescribed exercise in one week.

    ``days_asked`` is how many days were prescribed, None where the programme does not say how many a
    week; ``sets_asked``, ``count_asked`` and ``held_asked_s`` are for those days, or else for the days
    on which it was done. ``days_done`` of them were filmed or ticked off; ``late`` of those made up for
    a day that was missed the week before, ``missed`` were not done at all, and ``open`` may still be.
    """

    first_day: date
    days_asked: int | None
    days_done: int
    days_filmed: int
    days_ticked: int
    late: int
    missed: int
    open: int
    sets_asked: int
    count_asked: int
    held_asked_s: float
    done: Done


@dataclass(frozen=True, slots=True)
class ItemAdherence:
    """One prescribed exercise over its weeks, in the phase that began, or began anew, on ``since``."""

    exercise: str
    side: str
    phase: str
    since: date
    weeks: tuple[ItemWeek, ...]


@dataclass(frozen=True, slots=True)
class Adherence:
    """What a client did of what was prescribed, up to a day.

    ``days`` has every day on which something was done, with what; ``extra`` are exercises that were
    done and not prescribed on that day, or not yet due, with their days.
    """

    first_day: date
    last_day: date
    items: tuple[ItemAdherence, ...]
    days: Mapping[date, Done]
    extra: tuple[tuple[str, date], ...]


@dataclass(frozen=True, slots=True)
class _Doing:
    exercise: str
    side: str
    day: date
    done: Done


def adherence_of(
    store: Store, alias: str, until: date, *, is_over: bool = True
) -> Adherence | None:
    """Done against prescribed from the first programme to ``until``; None without a programme.

    ``is_over`` is whether that day is over: on one that is not, what was not done may still be.

    An exercise that waits for sessions (``after_sessions``) is asked for from the day after so many
    days of the phase on which something of it was done.
    """
    known = [one for one in stretches(store, alias) if one.first_day <= until]
    if not known:
        return None
    doings = _doings(store, alias, until)
    items: list[ItemAdherence] = []
    prescribed: set[tuple[str, date]] = set()
    for stretch in known:
        last = min(until, stretch.last_day or until)
        mine = [one for one in doings if stretch.first_day <= one.day <= last]
        sessions = _sessions(stretch, mine)
        for one in stretch.programme.prescriptions:
            done = _done_by_day(one, mine)
            due = due_from(one, stretch.first_day, sessions)
            prescribed |= {(one.exercise.name, day) for day in done if due and day >= due}
            if due is not None and due <= last:
                days = known[0].first_day, due, last, until
                weeks = _weeks(one, done, days, is_over=is_over or until in done)
                phase, since = stretch.programme.phase, stretch.first_day
                items.append(ItemAdherence(one.exercise.name, one.side, phase, since, weeks))
    by_day: dict[date, Done] = {}
    for doing in doings:
        by_day[doing.day] = by_day.get(doing.day, Done()) + doing.done
    extra = {(one.exercise, one.day) for one in doings} - prescribed
    return Adherence(known[0].first_day, until, tuple(items), by_day, tuple(sorted(extra)))


def sessions_of(store: Store, alias: str, stretch: Stretch, until: date) -> list[date]:
    """The days of a stretch, up to ``until``, on which something of it was done."""
    last = min(until, stretch.last_day or until)
    doings = _doings(store, alias, last)
    return _sessions(stretch, [one for one in doings if stretch.first_day <= one.day])


def due_from(one: Prescription, first_day: date, sessions: Sequence[date]) -> date | None:
    """The day from which an exercise is asked for; None while the sessions before are not done."""
    if one.after_sessions == 0:
        return first_day
    if len(sessions) < one.after_sessions:
        return None
    return sessions[one.after_sessions - 1] + timedelta(days=1)


def _doings(store: Store, alias: str, until: date) -> list[_Doing]:
    """Everything that was done up to a day, filmed or ticked off, by day."""
    filmed = [
        _Doing(one.exercise, one.side, one.day, _filmed(one))
        for one in _once(sets_of(store, alias, checks=False))
    ]
    ticked = [
        _Doing(one.exercise, one.side, one.day, _ticked(one)) for one in ticked_of(store, alias)
    ]
    doings = (one for one in (*filmed, *ticked) if one.day <= until)
    return sorted(doings, key=lambda one: one.day)


def _once(recorded: Iterable[RecordedSet]) -> Iterator[RecordedSet]:
    """Sets without those filmed again, which tell how well is measured and are no part of the dose; where
    a day has no other set of that exercise and side, the first of them stands for the day.
    """
    seen: set[tuple[str, str, date]] = set()
    for one in sorted(recorded, key=lambda one: one.filmed_again):
        what = (one.exercise, one.side, one.day)
        if not one.filmed_again or what not in seen:
            yield one
        seen.add(what)


def _filmed(one: RecordedSet) -> Done:
    return Done(one.sets, 0, one.sets_met, one.count, one.held_s)


def _ticked(one: Ticked) -> Done:
    return Done(0, one.sets, 0, one.count or 0, one.held_s or 0.0)


def _sessions(stretch: Stretch, doings: Sequence[_Doing]) -> list[date]:
    names = {one.exercise.name for one in stretch.programme.prescriptions}
    return sorted({one.day for one in doings if one.exercise in names})


def _done_by_day(one: Prescription, doings: Sequence[_Doing]) -> dict[date, Done]:
    """What was done of a prescribed exercise, on the side that was prescribed."""
    by_side: dict[tuple[date, str], Done] = {}
    for doing in doings:
        if doing.exercise == one.exercise.name:
            key = (doing.day, doing.side)
            by_side[key] = by_side.get(key, Done()) + doing.done
    found: dict[date, Done] = {}
    for day in sorted({day for day, _ in by_side}):
        both, left, right = (by_side.get((day, s), Done()) for s in ("both", "left", "right"))
        own = {"both": _less(left, right), "left": left, "right": right}  # one arm after the other
        if (mine := both + own[one.side_to_check]) != Done():
            found[day] = mine
    return found


def _less(left: Done, right: Done) -> Done:
    return Done(
        min(left.filmed_sets, right.filmed_sets),
        min(left.ticked_sets, right.ticked_sets),
        min(left.sets_met, right.sets_met),
        min(left.count, right.count),
        min(left.held_s, right.held_s),
    )


def _weeks(
    one: Prescription,
    done: Mapping[date, Done],
    days: tuple[date, date, date, date],
    *,
    is_over: bool,
) -> tuple[ItemWeek, ...]:
    """The weeks of an exercise, which begin on the weekday on which the record does.

    ``days`` are the first of the record, the one from which the exercise is due, the last on which it
    is prescribed as far as is known, and the present one, of which nothing is left if it ``is_over``.
    """
    start, due, last, until = days
    begin = start + WEEK * ((due - start).days // 7)
    weeks = []
    while begin <= last:
        end = begin + WEEK - timedelta(days=1)
        asked_to = min(end, last) if last < until else end
        span = (asked_to - max(begin, due)).days + 1
        mine = {day: what for day, what in done.items() if max(begin, due) <= day <= end}
        days_left = max((asked_to - until).days + (not is_over), 0)
        weeks.append(_week(one, begin, span, mine, days_left=days_left))
        begin += WEEK
    return _with_late(weeks)


def _week(
    one: Prescription, begin: date, span: int, done: Mapping[date, Done], *, days_left: int
) -> ItemWeek:
    dose = one.exercise.dose
    a_week = dose.days_a_week
    asked = None if a_week is None else min(int(a_week * span / 7 + 0.5), span)
    total = sum(done.values(), Done())
    days = len(done) if asked is None else asked
    short = max((asked or 0) - len(done), 0)
    still = min(short, days_left)
    count = dose.count * (2 if dose.per_direction else 1)
    return ItemWeek(
        first_day=begin,
        days_asked=asked,
        days_done=len(done),
        days_filmed=sum(what.filmed_sets > 0 for what in done.values()),
        days_ticked=sum(what.ticked_sets > 0 for what in done.values()),
        late=0,
        missed=short - still,
        open=still,
        sets_asked=days * dose.sets,
        count_asked=days * dose.sets * count,
        held_asked_s=days * dose.sets * count * (dose.hold_s or 0.0),
        done=total,
    )


def _with_late(weeks: Sequence[ItemWeek]) -> tuple[ItemWeek, ...]:
    """Days beyond what a week asked for make up for those that the week before was short of."""
    made = list(weeks)
    for k, (before, after) in enumerate(pairwise(weeks)):
        if after.days_asked is None:
            continue
        late = min(made[k].missed, max(after.days_done - after.days_asked, 0))
        made[k] = replace(made[k], missed=before.missed - late)
        made[k + 1] = replace(after, late=late)
    return tuple(made)
