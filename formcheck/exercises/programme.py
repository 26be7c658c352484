"""A client's programme: which exercises, how much, and within which limits of their own.

What it changes is laid over the exercise as a variant would be, and validated the same way. The order
rules of the trade are data too; breaking one brings advice, as the order is the clinician's.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from importlib.resources import files
from pathlib import Path
from typing import Any, Literal

from pydantic import ValidationError

from formcheck.catalogue.codes import Importance
from formcheck.errors import ExerciseError
from formcheck.exercises.agreed import with_agreed_words
from formcheck.exercises.differences import Change, differences
from formcheck.exercises.explain import problems_of
from formcheck.exercises.library import SUFFIX, exercise_with, load_exercise
from formcheck.exercises.programme_file import (
    NEVER,
    Entry,
    Item,
    Limit,
    PhaseFile,
    ProgrammeFile,
    Rule,
    Rules,
)
from formcheck.exercises.schema import (
    Check,
    Exercise,
    Statistic,
)
from formcheck.exercises.toml_file import read_toml

PRESCRIBED = "prescribed in this programme"


@dataclass(frozen=True, slots=True)
class Prescription:
    """One exercise as prescribed for this client, who is known by an alias.

    ``changes`` is what differs from the exercise as the library has it; ``leave_out_if`` are the
    reasons to leave it out that the order rules name. ``load`` is what is held or pulled.
    """

    client: str
    phase: str
    exercise: Exercise
    side: Literal["left", "right", "both", "alternating"]
    after_sessions: int
    changes: tuple[Change, ...]
    leave_out_if: tuple[str, ...]
    note: str | None
    load: str = ""
    stature_cm: float | None = None

    @property
    def side_to_check(self) -> Literal["left", "right", "both"]:
        """The side that is looked at; of arms that take turns, both."""
        return "both" if self.side == "alternating" else self.side


@dataclass(frozen=True, slots=True)
class Phase:
    """One phase: its exercises, and what must be met before it (None for the first).

    ``advice`` has one line for each departure from the usual order in it.
    """

    name: str
    prescriptions: tuple[Prescription, ...]
    enter: Entry | None = None
    advice: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Programme:
    """A validated programme, in one of its phases.

    ``phase`` and ``prescriptions`` are of that phase, the first unless ``in_phase`` chose another;
    ``phases`` are all of them. ``advice`` has one line for each departure from the usual order, in any phase
    until one is chosen,
    ``warnings`` one for each limit that not all items have. ``pain_at_most`` is the most pain, 0 to
    10, with which the client may go on.
    """

    client: str
    phase: str
    prescriptions: tuple[Prescription, ...]
    advice: tuple[str, ...]
    warnings: tuple[str, ...] = ()
    phases: tuple[Phase, ...] = ()
    stature_cm: float | None = None
    pain_at_most: int | None = None

    def due(self, sessions_done: int) -> tuple[Prescription, ...]:
        """The exercises of the session that follows ``sessions_done`` sessions of the phase."""
        return tuple(p for p in self.prescriptions if p.after_sessions <= sessions_done)

    def in_phase(self, name: str | None) -> "Programme":
        """The same programme in another phase; the only one if none is named.

        Raises ExerciseError if it has none of that name, or several and none is named.
        """
        if name is None and len(self.phases) == 1:
            return self
        for phase in self.phases:
            if name is not None and phase.name.casefold() == name.casefold():
                return replace(
                    self,
                    phase=phase.name,
                    prescriptions=phase.prescriptions,
                    advice=phase.advice,
                )
        known = ", ".join(f'"{phase.name}"' for phase in self.phases)
        what = "has several phases; say which" if name is None else f'has no phase "{name}"'
        raise ExerciseError(f"the programme of {self.client} {what}: {known}")


def load_programme(path: str | Path) -> Programme:
    """The programme in the file at ``path``, in its first phase.

    Raises ExerciseError with everything wrong with it, one line a problem.
    """
    file, label = Path(path), str(path)
    raw = read_toml(file, label)
    problems: list[str] = []
    try:
        plan = ProgrammeFile.model_validate(raw)
    except ValidationError as error:
        problems = [f"{label}: {problem}" for problem in problems_of(error, ProgrammeFile, raw)]
        # The overrides are looked through all the same, so that every slip comes to light at once.
        for items in _tables_of_items(raw):
            _overridden_all(items, file, problems)
        raise ExerciseError("\n".join(problems)) from None
    rules = (*usual_order(), *plan.order)
    phases: list[Phase] = []
    for one in plan.all_phases:
        phase = _phase(plan, one, rules, file, problems)
        before = {p.exercise.name for done in phases for p in done.prescriptions}
        later = [rule for rule in rules if rule.after not in before]
        advice = (line for rule in later for line in _advice(rule, phase.prescriptions))
        phases.append(replace(phase, advice=tuple(advice)))
    if problems:
        raise ExerciseError("\n".join(problems))
    items_ = [_with_common_limits(plan, item) for one in plan.all_phases for item in one.items]
    return Programme(
        plan.client,
        phases[0].name,
        phases[0].prescriptions,
        tuple(line for phase in phases for line in phase.advice),
        _limits_that_differ(items_),
        tuple(phases),
        plan.stature_cm,
        plan.pain_at_most,
    )


def _phase(
    plan: ProgrammeFile, phase: PhaseFile, rules: Sequence[Rule], file: Path, problems: list[str]
) -> Phase:
    """A phase as prescribed; what is wrong with it is added to ``problems``."""
    before = len(problems)
    items = [_with_common_limits(plan, item) for item in phase.items]
    tables = [item.model_dump(exclude_unset=True) for item in items]
    pairs = _overridden_all(tables, file, problems)
    problems += [f"{file}: {problem}" for problem in _twice(phase.items)]
    if len(problems) > before:
        return Phase(phase.name, (), phase.enter)
    prescriptions = (
        _prescription(plan, phase.name, item, pair, rules)
        for item, pair in zip(items, pairs, strict=True)
    )
    return Phase(phase.name, tuple(prescriptions), phase.enter)


def _tables_of_items(raw: Mapping[str, Any]) -> Iterator[Sequence[Any]]:
    """The lists of items in a file that is not valid, as far as they are lists."""
    phases = raw.get("phases")
    for holder in (raw, *(phases if isinstance(phases, list) else ())):
        items = holder.get("items") if isinstance(holder, Mapping) else None
        if isinstance(items, list):
            yield items


def _with_common_limits(plan: ProgrammeFile, item: Item) -> Item:
    """The item with the programme's own limits; of two on one end the tighter one, with its words."""
    tightest: dict[str, Limit] = {}
    for limit in (*plan.limits, *item.limits):
        for key, tighter in zip(NEVER, (min, max), strict=True):
            value = getattr(limit, key)
            if value is None:
                continue
            end = f"{limit.measure}.{key}"
            known = tightest.get(end)
            if known is None or tighter(value, getattr(known, key)) != getattr(known, key):
                tightest[end] = Limit(measure=limit.measure, cue=limit.cue, **{key: value})
    if not tightest:
        return item
    return item.model_copy(update={"limits": tuple(tightest.values())})


def _limits_that_differ(items: Sequence[Item]) -> tuple[str, ...]:
    """One line for each limit that some items have and others lack, or have otherwise."""
    by_end: dict[str, dict[str, float | None]] = {}
    for item in items:
        for limit in item.limits:
            for key in NEVER:
                if getattr(limit, key) is not None:
                    own = by_end.setdefault(f"{limit.measure}.{key}", {})
                    own[item.exercise] = getattr(limit, key)
    lines = []
    for end, own in by_end.items():
        told = [f"{own[i.exercise]:g}" if i.exercise in own else "none" for i in items]
        if len(set(told)) > 1:
            each = ", ".join(f"{i.exercise} {one}" for i, one in zip(items, told, strict=True))
            lines.append(
                f"limits differ: {end}: {each}; put it at the top of the programme as [[limits]] "
                "if it holds for all"
            )
    return tuple(lines)


def usual_order() -> tuple[Rule, ...]:
    """The order rules of the trade that come with formcheck."""
    file = files("formcheck.exercises") / "order.toml"
    return Rules.model_validate(read_toml(file, "order.toml")).order


def _overridden_all(
    items: Sequence[Any], file: Path, problems: list[str]
) -> list[tuple[Exercise, Exercise]]:
    """Each item's exercise before and after its changes; what is wrong is added to ``problems``."""
    pairs: list[tuple[Exercise, Exercise]] = []
    for item in items:
        if not isinstance(item, Mapping) or not isinstance(name := item.get("exercise"), str):
            continue
        label = f'{file}: items "{name}"'
        try:
            library = load_exercise(file.parent / name if name.endswith(SUFFIX) else name)
        except ExerciseError as error:
            problems += [f"{label}: {line}" for line in str(error).splitlines()]
            continue
        problems += [f"{label}: {problem}" for problem in _wrong_side(item, library)]
        try:
            own = exercise_with(library, _changes(item), label)
        except ExerciseError as error:
            problems += str(error).splitlines()
            continue
        problems += [f"{label}: {problem}" for problem in _beyond_limits(item, own)]
        pairs.append((library, own))
    return pairs


def _changes(item: Mapping[str, Any]) -> dict[str, Any]:
    """What an item changes, as the tables of a variant. Numbers without a source are the coach's."""
    changes = {key: item[key] for key in ("decision", "dose", "checks", "parts") if key in item}
    for key in ("checks", "parts"):
        if isinstance(changes.get(key), tuple):
            changes[key] = list(changes[key])
    if isinstance(dose := changes.get("dose"), dict):
        changes["dose"] = {"source": PRESCRIBED, **dose}
    if isinstance(checks := changes.get("checks"), list):
        changes["checks"] = [
            {"source": PRESCRIBED, **check} if isinstance(check, dict) else check
            for check in checks
        ]
    return changes


def _wrong_side(item: Mapping[str, Any], exercise: Exercise) -> list[str]:
    side = item.get("side")
    if exercise.arms == "both" and side in ("left", "right", "alternating"):
        return [f'side = "{side}": both arms work together in {exercise.name}; give "both"']
    return []


def _beyond_limits(item: Mapping[str, Any], exercise: Exercise) -> list[str]:
    """Targets that could only be reached by crossing a limit."""
    limits = item.get("limits", ())
    return [
        f'limits {limit["measure"]}.{key} = {limit[key]:g}: but check "{check.id}" asks for '
        f"{'at least' if sign > 0 else 'at most'} {target:g}; change that check too"
        for limit in (limits if isinstance(limits, tuple) else ())
        for key, end, sign in (("never_above", "low", 1), ("never_below", "high", -1))
        for check in (*exercise.checks, *(c for part in exercise.parts for c in part.checks))
        if (target := getattr(check, end)) is not None
        and limit.get(key) is not None
        and check.measure == limit["measure"]
        and not check.relative
        and sign * target >= sign * limit[key]
    ]


def _twice(items: Sequence[Item]) -> list[str]:
    keys = [(item.exercise, item.side) for item in items]
    return [
        f'items: "{exercise}" with side = "{side}" stands there twice'
        for exercise, side in sorted(set(keys))
        if keys.count((exercise, side)) > 1
    ]


def _prescription(
    plan: ProgrammeFile,
    phase: str,
    item: Item,
    pair: tuple[Exercise, Exercise],
    rules: Sequence[Rule],
) -> Prescription:
    library, own = pair
    limits = tuple(check for limit in item.limits for check in limit_checks(limit))
    limited = own.model_copy(update={"checks": (*own.checks, *limits)})
    reasons = (rule.leave_out_if for rule in rules if rule.exercise == own.name)
    return Prescription(
        client=plan.client,
        phase=phase,
        exercise=with_agreed_words(library, limited, {limit.measure for limit in item.limits}),
        side=item.side,
        after_sessions=item.after_sessions,
        changes=differences(library, limited),
        leave_out_if=tuple(reason for reason in reasons if reason is not None),
        note=item.note,
        load=item.load or "",
        stature_cm=plan.stature_cm,
    )


def limit_checks(limit: Limit) -> list[Check]:
    """A limit as one check for each of its ends."""
    ends: tuple[tuple[str, Statistic, float | None, float | None], ...] = (
        ("above", "max", None, limit.never_above),
        ("below", "min", limit.never_below, None),
    )
    return [
        Check(
            id=f"never-{word}-{limit.measure.replace('_', '-')}",
            measure=limit.measure,
            statistic=statistic,
            low=low,
            high=high,
            tolerance=0,
            importance=Importance.SAFETY,
            safety_limit=True,
            cue=limit.cue,
            praise="You stayed within the limit that was agreed with you.",
            source=PRESCRIBED,
        )
        for word, statistic, low, high in ends
        if low is not None or high is not None
    ]


def _advice(rule: Rule, prescriptions: Sequence[Prescription]) -> list[str]:
    """One line for each prescription that comes sooner than ``rule`` has it."""
    first = [p.after_sessions for p in prescriptions if p.exercise.name == rule.after]
    sessions = f"{_sessions(rule.sessions)} of {rule.after}"
    lines = []
    for prescription in prescriptions:
        if prescription.exercise.name != rule.exercise:
            continue
        if not first:
            lines.append(
                f"{rule.exercise} usually comes after {sessions}, which is not in this programme"
            )
        elif prescription.after_sessions < min(first) + rule.sessions:
            between = prescription.after_sessions - min(first)
            when = f"after {_sessions(between)}" if between > 0 else "at the same time"
            here = f"{_sessions(-between)} before it" if between < 0 else when
            lines.append(f"{rule.exercise} usually comes after {sessions}; here it comes {here}")
    return lines


def _sessions(count: int) -> str:
    return f"{count} session{'' if count == 1 else 's'}"
