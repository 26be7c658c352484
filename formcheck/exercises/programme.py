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

from formcheck.errors import ExerciseError
from formcheck.exercises.agreed import with_agreed_words
from formcheck.exercises.client_limits import (
    PRESCRIBED,
    beyond_limits,
    limit_checks,
    limits_that_differ,
    with_common_limits,
    within_limits,
)
from formcheck.exercises.differences import Change, differences
from formcheck.exercises.explain import problems_of
from formcheck.exercises.library import SUFFIX, exercise_with, load_exercise
from formcheck.exercises.programme_file import (
    Entry,
    Item,
    Limit,
    PhaseFile,
    ProgrammeFile,
    Rule,
    Rules,
)
from formcheck.exercises.schema import (
    Exercise,
)
from formcheck.exercises.toml_file import read_toml


@dataclass(frozen=True, slots=True)
class Prescription:
    """One exercise as prescribed for this client, who is known by an alias.

    ``changes`` is what differs from the exercise as the library has it; ``leave_out_if`` are the
    reasons to leave it out that the order rules name. ``load`` is what is held or pulled. ``version``
    is the programme's number in the record of clients, None where it was given as a file. Where the
    phase does not have the exercise, ``listed`` is False and only the limits are the client's.
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
    version: int | None = None
    listed: bool = True

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
    10, with which the client may go on. ``limits`` hold in every exercise.
    """

    client: str
    phase: str
    prescriptions: tuple[Prescription, ...]
    advice: tuple[str, ...]
    warnings: tuple[str, ...] = ()
    phases: tuple[Phase, ...] = ()
    stature_cm: float | None = None
    pain_at_most: int | None = None
    limits: tuple[Limit, ...] = ()

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

    def unlisted(
        self, exercise: Exercise, side: Literal["left", "right", "both"], library: Exercise
    ) -> Prescription:
        """An exercise that the phase does not have, within the limits that hold in every exercise.

        ``library`` is the exercise that the changes are told against. A check whose target could only
        be reached by crossing a limit is left out.
        """
        limited = within_limits(exercise, self.limits)
        return Prescription(
            client=self.client,
            phase=self.phase,
            exercise=with_agreed_words(library, limited, {one.measure for one in self.limits}),
            side=side,
            after_sessions=0,
            changes=differences(library, limited),
            leave_out_if=(),
            note=None,
            stature_cm=self.stature_cm,
            listed=False,
        )


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
    items_ = [with_common_limits(plan, item) for one in plan.all_phases for item in one.items]
    return Programme(
        plan.client,
        phases[0].name,
        phases[0].prescriptions,
        tuple(line for phase in phases for line in phase.advice),
        limits_that_differ(items_),
        tuple(phases),
        plan.stature_cm,
        plan.pain_at_most,
        plan.limits,
    )


def _phase(
    plan: ProgrammeFile, phase: PhaseFile, rules: Sequence[Rule], file: Path, problems: list[str]
) -> Phase:
    """A phase as prescribed; what is wrong with it is added to ``problems``."""
    before = len(problems)
    items = [with_common_limits(plan, item) for item in phase.items]
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
        problems += [f"{label}: {problem}" for problem in beyond_limits(item, own)]
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
