"""A client's limits: which hold in an exercise, and the checks that they become."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from formcheck.catalogue.codes import Importance
from formcheck.exercises.programme_file import NEVER, Item, Limit, ProgrammeFile
from formcheck.exercises.schema import Check, Exercise, Statistic

PRESCRIBED = "prescribed in this programme"
"""The source of what a coach prescribes."""


def with_common_limits(plan: ProgrammeFile, item: Item) -> Item:
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


def limits_that_differ(items: Sequence[Item]) -> tuple[str, ...]:
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


def beyond_limits(item: Mapping[str, Any], exercise: Exercise) -> list[str]:
    """Targets that could only be reached by crossing a limit."""
    limits = item.get("limits", ())
    return [
        f'limits {limit["measure"]}.{key} = {limit[key]:g}: but check "{check.id}" asks for '
        f"{'at least' if key == 'never_above' else 'at most'} {target:g}; change that check too"
        for limit in (limits if isinstance(limits, tuple) else ())
        for _, check in exercise.all_checks
        for key, target in _targets_beyond(check, limit["measure"], limit)
    ]


def _targets_beyond(
    check: Check, measure: str, ends: Mapping[str, float | None]
) -> Iterator[tuple[str, float]]:
    """Each end of a limit that a check's target lies beyond, by its key, with the target."""
    if check.measure != measure or check.relative:
        return
    for key, target, sign in (("never_above", check.low, 1), ("never_below", check.high, -1)):
        end = ends.get(key)
        if end is not None and target is not None and sign * target >= sign * end:
            yield key, target


def within_limits(exercise: Exercise, limits: Sequence[Limit]) -> Exercise:
    """The exercise with a client's limits; of two on one end the tighter one holds.

    Without the checks whose target could only be reached by crossing a limit.
    """
    own = [check for limit in limits for check in limit_checks(limit)]
    there = {check.id: check for check in exercise.checks if check.safety_limit}
    tightest = {one.id: _tighter(one, there.get(one.id, one)) for one in own}

    def kept(checks: Sequence[Check]) -> tuple[Check, ...]:
        return tuple(
            tightest.get(check.id, check)
            for check in checks
            if check.safety_limit or not any(_is_beyond(check, limit) for limit in limits)
        )

    new = tuple(check for check in tightest.values() if check.id not in there)
    parts = tuple(part.model_copy(update={"checks": kept(part.checks)}) for part in exercise.parts)
    return exercise.model_copy(update={"checks": (*kept(exercise.checks), *new), "parts": parts})


def _is_beyond(check: Check, limit: Limit) -> bool:
    return any(_targets_beyond(check, limit.measure, limit.model_dump()))


def _tighter(one: Check, other: Check) -> Check:
    """Of two checks of one end of a limit the tighter one."""
    if one.high is not None and other.high is not None:
        return one if one.high <= other.high else other
    if one.low is not None and other.low is not None:
        return one if one.low >= other.low else other
    return one


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
