"""An exercise that is like another says only what differs.

The rule: tables are merged key by key; checks are matched by their id and parts by their name;
everything else replaces. ``without`` first takes checks away, so a check can also be dropped and
written anew. A new ``dose.hold_s`` or ``dose.tempo_s`` is also what the checks then ask for, in
words that say so.
"""

from collections.abc import Mapping, Sequence
from typing import Any

from formcheck.exercises.agreed import words_of_time
from formcheck.exercises.explain import nearest
from formcheck.exercises.schema import Check, Exercise, Part

Raw = Mapping[str, Any]

_MATCHED_BY = {"checks": "id", "parts": "name"}
_REQUIRED = {
    key: tuple(name for name, field in model.model_fields.items() if field.is_required())
    for key, model in (("checks", Check), ("parts", Part))
}


def merged(parent: Raw, child: Raw) -> tuple[dict[str, Any], list[str]]:
    """``child`` laid over the complete ``parent``, and the problems met, one line each."""
    result = dict(parent)
    # What the parent itself was made from is its own affair.
    result.pop("like", None)
    result.pop("without", None)
    result["checks"], problems = _without(parent.get("checks", []), child.get("without", []))
    for key, value in child.items():
        before = result.get(key)
        if isinstance(value, Mapping) and isinstance(before, Mapping):
            result[key] = {**before, **value}
        elif key in _MATCHED_BY and isinstance(value, list):
            result[key], more = _matched(key, before or [], value)
            problems += more
        else:
            result[key] = value
    return result, problems


def _without(checks: Sequence[Raw], unwanted: object) -> tuple[list[Raw], list[str]]:
    if not isinstance(unwanted, list):
        return list(checks), []
    ids = [check["id"] for check in checks]
    problems = [
        f'without = "{name}": there is no such check to leave out{_hint(name, ids)}'
        for name in unwanted
        if isinstance(name, str) and name not in ids
    ]
    return [check for check in checks if check["id"] not in unwanted], problems


def _matched(key: str, before: Sequence[Raw], own: list[Any]) -> tuple[list[Any], list[str]]:
    """Items of ``own`` laid over those of the same name, new ones after them."""
    result: list[Any] = list(before)
    by = _MATCHED_BY[key]
    place = {item[by]: index for index, item in enumerate(before)}
    names = [item.get(by) for item in own if isinstance(item, Mapping)]
    twice = {name for name in names if isinstance(name, str) and names.count(name) > 1}
    problems = [f'{key} "{name}": stands there twice; leave one out' for name in sorted(twice)]
    for item in own:
        name = item.get(by) if isinstance(item, Mapping) else None
        if isinstance(name, str) and name in place:
            result[place[name]], more = _laid_over(key, result[place[name]], item)
            problems += [f'{key} "{name}": {problem}' for problem in more]
        elif isinstance(name, str) and (lacking := [k for k in _REQUIRED[key] if k not in item]):
            problems.append(
                f'{key} "{name}": there is no such {key[:-1]} to change{_hint(name, list(place))}; '
                f"a new one also needs {', '.join(lacking)}"
            )
        else:
            result.append(item)
    return result, problems


def _laid_over(key: str, before: Raw, item: Raw) -> tuple[dict[str, Any], list[str]]:
    if key == "parts":
        return merged(before, item)
    # Words for one end of a target belong to the cue they stand beside.
    stale = ("cue_above", "cue_below") if "cue" in item else ()
    return {**{k: v for k, v in before.items() if k not in stale}, **item}, []


def following_dose(exercise: Exercise, given: Raw) -> Exercise:
    """``exercise`` with the targets of its checks of time set to the dose that ``given`` states.

    ``given`` holds the tables of the file or change as written; a check whose target is written
    there too keeps it.
    """
    wanted = {}
    dose = given.get("dose", {})
    if exercise.dose.hold_s is not None and "hold_s" in dose:
        wanted["hold"] = exercise.dose.hold_s
    if exercise.dose.tempo_s is not None and "tempo_s" in dose:
        wanted["duration"] = sum(exercise.dose.tempo_s)
    if not wanted:
        return exercise
    parts_given = {part["name"]: part for part in given.get("parts", ())}
    parts = tuple(
        part.model_copy(
            update={"checks": _aimed(part.checks, wanted, parts_given.get(part.name, {}))}
        )
        for part in exercise.parts
    )
    return exercise.model_copy(
        update={"checks": _aimed(exercise.checks, wanted, given), "parts": parts}
    )


def _aimed(checks: tuple[Check, ...], wanted: Mapping[str, float], given: Raw) -> tuple[Check, ...]:
    own = {check["id"]: check for check in given.get("checks", ())}
    return tuple(
        _aimed_at(check, wanted[check.measure], own.get(check.id, {}))
        if check.measure in wanted
        else check
        for check in checks
    )


def _aimed_at(check: Check, seconds: float, own: Raw) -> Check:
    """The check asking for ``seconds``, as far as ``own``, what the file says of it, leaves open."""
    if "low" in own or "high" in own:
        return check
    if check.low is None:  # the most that is wise: never less than is asked for
        return check.model_copy(update={"high": max(check.high or 0.0, seconds)})
    words = words_of_time(check.measure, seconds) if seconds != check.low else {}
    fitting = {key: text for key, text in words.items() if key not in own}
    return check.model_copy(update={"low": seconds, "high": None, **fitting})


def _hint(name: str, known: Sequence[str]) -> str:
    close = nearest(name, known)
    return f'; did you mean "{close}"?' if close else f"; known: {', '.join(known)}"
