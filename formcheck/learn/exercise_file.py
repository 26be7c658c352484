"""A lesson as the text of an exercise file."""

import json
from collections.abc import Iterator, Mapping
from typing import Any

from formcheck.learn.learn import Lesson

_HEAD = (
    "# Learned by formcheck from a demonstration. Every line may be changed; then run:\n"
    "#   formcheck exercises validate {name}.toml\n"
)
_LEARNED = ("low", "high", "tolerance", "source")


def exercise_file(lesson: Lesson) -> str:
    """The exercise as TOML; of one that is like another only what differs."""
    tables = lesson.exercise.model_dump(mode="json", exclude_none=True)
    if lesson.like is not None:
        tables = _differing(lesson, tables)
    return _HEAD.format(name=lesson.exercise.name) + "\n".join(_lines(tables)) + "\n"


def _differing(lesson: Lesson, tables: Mapping[str, Any]) -> dict[str, Any]:
    like = lesson.like
    assert like is not None
    known = {check.id for check in like.checks}
    kept = {check["id"] for check in tables["checks"]}
    result: dict[str, Any] = {key: tables[key] for key in ("like", "name", "title")}
    if left := [check.id for check in like.checks if check.id not in kept]:
        result["without"] = left
    result["dose"] = tables["dose"]
    result["checks"] = [
        {key: check[key] for key in ("id", *_LEARNED) if key in check}
        if check["id"] in known
        else check
        for check in tables["checks"]
    ]
    return result


def _lines(tables: Mapping[str, Any]) -> Iterator[str]:
    """Keys of the whole first, then tables, then lists of tables, as TOML wants them."""
    for key, value in tables.items():
        if not isinstance(value, Mapping) and not _is_tables(value) and value != []:
            yield f"{key} = {_value(value)}"
    for key, value in tables.items():
        if isinstance(value, Mapping):
            yield from ("", f"[{key}]", *(f"{k} = {_value(v)}" for k, v in value.items()))
        elif _is_tables(value):
            for one in value:
                yield from ("", f"[[{key}]]", *(f"{k} = {_value(v)}" for k, v in one.items()))


def _is_tables(value: object) -> bool:
    return isinstance(value, list) and bool(value) and isinstance(value[0], Mapping)


def _value(value: object) -> str:
    """Strings, numbers, truths and lists of them are written in TOML as in JSON."""
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return json.dumps(value, ensure_ascii=False)
