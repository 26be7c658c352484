"""An exercise that is like another says only what differs.

The rule: tables are merged key by key; checks are matched by their id; everything else replaces.
``without`` first takes checks away, so a check can also be dropped and written anew.
"""

from collections.abc import Mapping
from typing import Any

from formcheck.exercises.explain import nearest
from formcheck.exercises.schema import Check

Raw = Mapping[str, Any]

_REQUIRED = tuple(name for name, field in Check.model_fields.items() if field.is_required())


def merged(parent: Raw, child: Raw) -> tuple[dict[str, Any], list[str]]:
    """``child`` laid over ``parent``, and the problems met, one line each."""
    checks, problems = _without(parent.get("checks", []), child.get("without", []))
    result = dict(parent)
    # What the parent itself was made from is its own affair.
    result.pop("like", None)
    result.pop("without", None)
    for key, value in child.items():
        before = result.get(key)
        if isinstance(value, Mapping) and isinstance(before, Mapping):
            result[key] = {**before, **value}
        elif key != "checks":
            result[key] = value
    own = child.get("checks", [])
    if not isinstance(own, list):
        return {**result, "checks": own}, problems
    result["checks"], more = _merged_checks(checks, own)
    return result, problems + more


def _without(checks: list[Raw], unwanted: object) -> tuple[list[Raw], list[str]]:
    if not isinstance(unwanted, list):
        return checks, []
    ids = [check["id"] for check in checks]
    problems = [
        f"without = {name!r}: there is no such check to leave out{_hint(name, ids)}"
        for name in unwanted
        if isinstance(name, str) and name not in ids
    ]
    return [check for check in checks if check["id"] not in unwanted], problems


def _merged_checks(checks: list[Raw], own: list[Any]) -> tuple[list[Any], list[str]]:
    result: list[Any] = list(checks)
    place = {check["id"]: index for index, check in enumerate(checks)}
    problems = []
    for check in own:
        name = check.get("id") if isinstance(check, Mapping) else None
        if isinstance(name, str) and name in place:
            result[place[name]] = {**result[place[name]], **check}
        elif isinstance(name, str) and (lacking := [k for k in _REQUIRED if k not in check]):
            problems.append(
                f'checks "{name}": there is no such check to change{_hint(name, list(place))}; '
                f"a new check also needs {', '.join(lacking)}"
            )
        else:
            result.append(check)
    return result, problems


def _hint(name: str, known: list[str]) -> str:
    close = nearest(name, known)
    return f'; did you mean "{close}"?' if close else f"; known: {', '.join(known)}"
