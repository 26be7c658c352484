"""Whether what a coach asked for before a phase is met, rule by rule, with the evidence.

It proposes and decides nothing: the coach's signature moves the phase (``signature.sign_phase``). Where the
record does not say, a rule is unknown and never taken as met.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from formcheck.catalogue.codes import LimitState
from formcheck.catalogue.red_flags import MOST_PAIN
from formcheck.exercises.programme import Phase
from formcheck.exercises.programme_file import Entry
from formcheck.records.adherence import sessions_of
from formcheck.records.answers import Answer, answers_of, open_answers
from formcheck.records.limits import PassedLimit, passed_limits
from formcheck.records.phases import Stretch, in_force, most_pain_of
from formcheck.records.sets import RecordedSet, sets_of
from formcheck.records.store import Store


class State(StrEnum):
    """Whether a rule is met, as far as the record says."""

    MET = "met"
    NOT_MET = "not-met"
    UNKNOWN = "unknown"


class RuleName(StrEnum):
    """The rules that a phase may have."""

    DAYS = "days"
    WEEKS = "weeks"
    SHARE_WITHIN = "share-within"
    NO_LIMIT_PASSED = "no-limit-passed"
    PAIN_DURING = "pain-during"
    SETTLED = "settled"
    NOTHING_OPEN = "nothing-open"


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule with its evidence: ``asked`` and ``found`` are numbers where it is about one.

    ``days`` are those that the evidence is from, or that decided against it; ``limits`` are the limits
    of safety that did.
    """

    name: RuleName
    state: State
    asked: float | None = None
    found: float | None = None
    days: tuple[date, ...] = ()
    limits: tuple[PassedLimit, ...] = ()


@dataclass(frozen=True, slots=True)
class Gate:
    """What comes before a phase. ``proposed`` is whether every rule is met."""

    phase: str
    rules: tuple[Rule, ...]

    @property
    def proposed(self) -> bool:
        """Whether all rules are met, so that the coach may look at it and sign."""
        return all(rule.state is State.MET for rule in self.rules)


@dataclass(frozen=True, slots=True)
class ItemDue:
    """An exercise of the present phase and the sessions that come before it."""

    exercise: str
    side: str
    sessions_asked: int
    sessions_done: int

    @property
    def due(self) -> bool:
        """Whether it is asked for by now."""
        return self.sessions_done >= self.sessions_asked


@dataclass(frozen=True, slots=True)
class Readiness:
    """Where a client is, what is due, and what is met of what comes before the next phase.

    ``gate`` is None in the last phase. ``open`` are the answers that the coach has still to look into:
    while there are any, nothing is due. ``most_pain`` (0-10) is the most with which the client goes on.
    """

    phase: str
    since: date
    items: tuple[ItemDue, ...]
    gate: Gate | None
    open: tuple[Answer, ...]
    most_pain: int = MOST_PAIN


@dataclass(frozen=True, slots=True)
class _Evidence:
    """What the last sessions of the phase say.

    ``sets`` are of the exercises of the phase. ``limits`` and ``limited_sets`` are of whatever was
    filmed since the first of these sessions: a limit holds in every exercise.
    """

    sessions: Sequence[date]
    last: Sequence[date]
    sets: Sequence[RecordedSet]
    limited_sets: Sequence[RecordedSet]
    limits: Sequence[PassedLimit]
    answers: Sequence[Answer]


def readiness_of(store: Store, alias: str, until: date) -> Readiness | None:
    """Where a client stands on that day; None without a programme."""
    here = in_force(store, alias, until)
    if here is None:
        return None
    sessions = sessions_of(store, alias, here, until)
    most = most_pain_of(store, alias, until)
    waiting = [one for one in open_answers(store, alias, most_pain=most) if one.day <= until]
    items = tuple(
        ItemDue(one.exercise.name, one.side, one.after_sessions, len(sessions))
        for one in here.programme.prescriptions
    )
    following = _next_phase(here)
    gate = None
    if following is not None:
        enter = following.enter or Entry()
        evidence = _evidence(store, alias, here, sessions, until=until, count=enter.last_sessions)
        gate = Gate(following.name, tuple(_rules(enter, here, evidence, until, waiting)))
    since = here.entry.from_day
    return Readiness(here.programme.phase, since, items, gate, tuple(waiting), most)


def _next_phase(here: Stretch) -> Phase | None:
    phases = here.programme.phases
    at = [phase.name for phase in phases].index(here.programme.phase)
    return phases[at + 1] if at + 1 < len(phases) else None


def _evidence(
    store: Store, alias: str, here: Stretch, sessions: Sequence[date], *, until: date, count: int
) -> _Evidence:
    last = sessions[-count:]
    since = last[0] if last else here.first_day
    names = {one.exercise.name for one in here.programme.prescriptions}
    sets = [one for one in sets_of(store, alias) if since <= one.day <= until]
    return _Evidence(
        sessions,
        last,
        [one for one in sets if one.day in last and one.exercise in names],
        [one for one in sets if one.limit_state],
        [one for one in passed_limits(store, alias) if since <= one.day <= until],
        [one for one in answers_of(store, alias) if one.day in last],
    )


def _rules(
    enter: Entry, here: Stretch, evidence: _Evidence, until: date, waiting: Sequence[Answer]
) -> list[Rule]:
    rules = []
    if enter.days:
        days = len(evidence.sessions)
        rules.append(Rule(RuleName.DAYS, _at_least(days, enter.days), enter.days, days))
    if enter.weeks:
        weeks = (until - here.entry.from_day).days / 7
        rules.append(Rule(RuleName.WEEKS, _at_least(weeks, enter.weeks), enter.weeks, weeks))
    if enter.share_within is not None:
        rules.append(_share_within(enter.share_within, evidence))
    if enter.no_limit_passed:
        rules.append(_no_limit_passed(here, evidence))
    if enter.pain_during_at_most is not None:
        rules.append(_pain_during(enter.pain_during_at_most, evidence))
    if enter.settled_by_morning:
        rules.append(_settled(evidence))
    cleared = State.NOT_MET if waiting else State.MET
    rules.append(Rule(RuleName.NOTHING_OPEN, cleared, days=tuple(one.day for one in waiting)))
    return rules


def _at_least(found: float, asked: float) -> State:
    return State.MET if found >= asked else State.NOT_MET


def _share_within(asked: float, evidence: _Evidence) -> Rule:
    """The share of what was judged that was within; unknown where what was borderline would decide."""
    checks = [check for one in evidence.sets for check in one.checks]
    within = sum(check.within for check in checks)
    borderline = sum(check.borderline for check in checks)
    total = within + borderline + sum(check.outside for check in checks)
    if total == 0:
        return Rule(RuleName.SHARE_WITHIN, State.UNKNOWN, asked)
    least, most = within / total, (within + borderline) / total
    state = State.MET if least >= asked else State.NOT_MET if most < asked else State.UNKNOWN
    return Rule(RuleName.SHARE_WITHIN, state, asked, least, tuple(evidence.last))


def _no_limit_passed(here: Stretch, evidence: _Evidence) -> Rule:
    """Met only where every limit of the last sessions was surely kept; unknown where none was read."""
    limited = any(
        check.safety_limit for one in here.programme.prescriptions for check in one.exercise.checks
    )
    passed = tuple(evidence.limits)
    if passed:
        alarms = tuple(dict.fromkeys(one.day for one in passed))
        return Rule(RuleName.NO_LIMIT_PASSED, State.NOT_MET, days=alarms, limits=passed)
    read = evidence.limited_sets
    unread = tuple(sorted({one.day for one in read if one.limit_state == LimitState.UNCHECKED}))
    if limited and (unread or not read):
        return Rule(RuleName.NO_LIMIT_PASSED, State.UNKNOWN, days=unread)
    days = tuple(sorted({*evidence.last, *(one.day for one in read)}))
    return Rule(RuleName.NO_LIMIT_PASSED, State.MET, days=days)


def _pain_during(asked: int, evidence: _Evidence) -> Rule:
    told = [(one.pain_during, one.day) for one in evidence.answers if one.pain_during is not None]
    above = tuple(sorted({day for pain, day in told if pain > asked}))
    worst = max((pain for pain, _ in told), default=None)
    if above:
        return Rule(RuleName.PAIN_DURING, State.NOT_MET, asked, worst, above)
    unasked = _without(evidence.last, [day for _, day in told])
    if unasked or not told:
        return Rule(RuleName.PAIN_DURING, State.UNKNOWN, asked, worst, unasked)
    return Rule(RuleName.PAIN_DURING, State.MET, asked, worst, tuple(evidence.last))


def _settled(evidence: _Evidence) -> Rule:
    told = [
        (one.pain_next_morning - one.pain_before, one.day)
        for one in evidence.answers
        if one.pain_next_morning is not None and one.pain_before is not None
    ]
    worse = tuple(sorted({day for more, day in told if more > 0}))
    if worse:
        return Rule(RuleName.SETTLED, State.NOT_MET, days=worse)
    unasked = _without(evidence.last, [day for _, day in told])
    if unasked or not told:
        return Rule(RuleName.SETTLED, State.UNKNOWN, days=unasked)
    return Rule(RuleName.SETTLED, State.MET, days=tuple(evidence.last))


def _without(days: Sequence[date], told: Sequence[date]) -> tuple[date, ...]:
    return tuple(sorted(set(days) - set(told)))
