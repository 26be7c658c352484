"""What differs between two forms of one exercise, for people to read."""

from collections.abc import Iterator
from dataclasses import dataclass

from formcheck.exercises.explain import shown
from formcheck.exercises.schema import Exercise

_NOT_PRESCRIBED = {"source", "like", "without", "cue", "cue_above", "cue_below", "praise"}


@dataclass(frozen=True, slots=True)
class Change:
    """One value that differs; ``before`` or ``after`` is None where it is new or gone."""

    key: str
    before: str | None
    after: str | None


def differences(before: Exercise, after: Exercise) -> tuple[Change, ...]:
    """Every value that differs, but for words, by key path such as ``checks "height".low``."""
    old, new = (dict(_values(e.model_dump(mode="json"), "")) for e in (before, after))
    return tuple(
        Change(key, old.get(key), new.get(key))
        for key in (*old, *(key for key in new if key not in old))
        if old.get(key) != new.get(key)
    )


def _values(value: object, path: str) -> Iterator[tuple[str, str]]:
    if isinstance(value, dict):
        for key, inner in value.items():
            if key not in _NOT_PRESCRIBED:
                yield from _values(inner, f"{path}.{key}" if path else key)
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            own = inner.get("id", inner.get("name")) if isinstance(inner, dict) else None
            yield from _values(inner, f'{path} "{own}"' if own else f"{path} {index + 1}")
    elif value is not None:
        yield path, shown(value)
