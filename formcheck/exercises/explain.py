"""Turning what pydantic refused into lines a coach can act on.

Every line names the key path, the value given, and what is allowed there; an unknown key gets the
nearest known one, or the table it belongs to.
"""

import difflib
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

Node = Mapping[str, Any]
Location = tuple[int | str, ...]

LEAST_ALIKE, ALIKE = 0.6, 0.7
"""Similarity (difflib's ratio) from which a word may be meant, with the same first letter and with
any: "lwo" has 0.67 with "low", but so has "video" with "side". Mechanical.
"""
LEAST_SHARED = 3
"""Letters of a word that stands within another, from which it may be meant. Mechanical."""


def problems_of(error: ValidationError, model: type[BaseModel], raw: object) -> list[str]:
    """One line for each problem that ``error`` found in ``raw``, tables as read from the file."""
    schema = model.model_json_schema()
    found = error.errors(include_url=False)
    unknown = [e["loc"] for e in found if e["type"] == "extra_forbidden"]
    # A misspelt key is one slip, not two; nor is a list short because an item of it is wrong.
    meant = {(*loc[:-1], _nearest_key(schema, loc) or "") for loc in unknown}
    lists = {e["loc"][:depth] for e in found for depth in range(len(e["loc"]))}
    return [
        f"{key_path(e['loc'], raw)}{_given(e['loc'], raw)}: {_reason(e, schema)}"
        for e in found
        if not (e["type"] == "missing" and e["loc"] in meant)
        and not (e["type"] == "too_short" and e["loc"] in lists)
    ]


def key_path(loc: Location, raw: object) -> str:
    """``('checks', 2, 'low')`` -> ``checks "height".low``: items with an id are called by it."""
    path = ""
    value = raw
    for step in loc:
        value = _child(value, step)
        if isinstance(step, str):
            path += f".{step}" if path else step
            continue
        own = _own_name(value)
        path += f' "{own}"' if own else f" {step + 1}"
    return path or "the file"


def nearest(word: str, choices: Sequence[str]) -> str | None:
    """The choice most like ``word``, or None when nothing is close."""
    plain = word.strip().lower().replace("_", "-").replace(" ", "-")
    by_plain = {choice.lower().replace("_", "-"): choice for choice in choices}
    same_start = [word for word in by_plain if word[:1] == plain[:1]]
    close = difflib.get_close_matches(plain, by_plain, n=1, cutoff=ALIKE)
    close = close or difflib.get_close_matches(plain, same_start, n=1, cutoff=LEAST_ALIKE)
    if close:
        return by_plain[close[0]]
    within = (c for p, c in by_plain.items() if plain in p or p in plain)
    return next((c for c in within if min(len(plain), len(c)) >= LEAST_SHARED), None)


def shown(value: object) -> str:
    """A value as it would stand in the file, shortened."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        one_line = " ".join(value.split())
        return f'"{one_line[:57]}..."' if len(one_line) > 60 else f'"{one_line}"'
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, list):
        return "an empty list" if not value else f"a list of {len(value)}"
    return str(value)[:60]


def node_at(schema: Node, loc: Location) -> Node:
    """The part of a JSON schema that describes the value at ``loc``."""
    node = _resolved(schema, schema)
    for step in loc:
        node = _resolved(schema, _item(node) if isinstance(step, int) else _property(node, step))
    return node


def expected(node: Node) -> str:
    """What a value described by ``node`` must be, in words."""
    if "enum" in node:
        return "one of " + ", ".join(str(choice) for choice in node["enum"])
    if "const" in node:
        return shown(node["const"])
    kind = node.get("type")
    if kind == "string":
        if "pattern" in node:
            return "lower-case words joined by hyphens, such as side-raise"
        return "text in quotes, not empty"
    if kind == "array":
        return _list(node)
    names = {"number": "a number", "integer": "a whole number", "boolean": "true or false"}
    return names.get(str(kind), "a table") + _range(node)


def _list(node: Node) -> str:
    least = node.get("minItems", 0)
    if least and least == node.get("maxItems"):
        return f"a list of {least} {expected(_item(node)).removeprefix('a ')}s"
    kind = "a list" if "properties" in _item(node) else "a list in [ ]"  # tables go by [[name]]
    return f"{kind} of at least {least}" if least else kind


def _range(node: Node) -> str:
    low, above = node.get("minimum"), node.get("exclusiveMinimum")
    high = node.get("maximum")
    parts = []
    if low is not None and high is not None:
        return f" from {low:g} to {high:g}"
    if above is not None:
        parts.append(f" above {above:g}")
    if low is not None:
        parts.append(f" of at least {low:g}")
    if high is not None:
        parts.append(f" up to {high:g}")
    return " and".join(parts)


def _reason(error: ErrorDetails, schema: Node) -> str:
    kind, loc = error["type"], error["loc"]
    if kind == "extra_forbidden":
        return _unknown_key(schema, loc)
    if kind == "value_error":
        return str(error["ctx"]["error"])
    if kind == "finite_number":
        return "must be a number that is neither infinite nor nan"
    node = node_at(schema, loc)
    if kind == "missing":
        return f"is missing; give {expected(node)}"
    close = None
    if "enum" in node and isinstance(error["input"], str):
        close = nearest(error["input"], [str(choice) for choice in node["enum"]])
    hint = f'did you mean "{close}"? ' if close else ""
    return f"{hint}must be {expected(node)}"


def _unknown_key(schema: Node, loc: Location) -> str:
    key = str(loc[-1])
    if close := _nearest_key(schema, loc):
        return f'unknown key; did you mean "{close}"?'
    for home, node in _tables(schema):
        if key in node.get("properties", {}):
            return f"unknown key here; it belongs {home}"
    return "unknown key; known here: " + ", ".join(node_at(schema, loc[:-1]).get("properties", {}))


def _nearest_key(schema: Node, loc: Location) -> str | None:
    known = list(node_at(schema, loc[:-1]).get("properties", {}))
    close = difflib.get_close_matches(str(loc[-1]), known, n=1, cutoff=LEAST_ALIKE)
    return close[0] if close else None


def _tables(schema: Node) -> Iterator[tuple[str, Node]]:
    yield "at the top of the file, before the first [table]", schema
    for name, inner in schema.get("properties", {}).items():
        node = _resolved(schema, inner)
        if "properties" in node:
            yield f"in [{name}]", node
        elif "properties" in (item := _resolved(schema, node.get("items", {}))):
            yield f"in [[{name}]]", item


def _item(node: Node) -> Node:
    """What the items of a list are; those of a list of fixed length are all of one kind."""
    found: Node = node.get("items") or next(iter(node.get("prefixItems", [])), {})
    return found


def _property(node: Node, key: str) -> Node:
    found: Node = node.get("properties", {}).get(key, {})
    return found


def _resolved(schema: Node, node: Node) -> Node:
    """``node`` with references followed, its items' too, and 'or nothing' dropped."""
    if "$ref" in node:
        return _resolved(schema, schema["$defs"][node["$ref"].rsplit("/", 1)[-1]])
    for choice in node.get("anyOf", ()):
        if choice.get("type") != "null":
            return _resolved(schema, choice)
    return {**node, "items": _resolved(schema, node["items"])} if "items" in node else node


def _given(loc: Location, raw: object) -> str:
    value = raw
    for step in loc:
        value = _child(value, step)
    return "" if value is None or isinstance(value, Mapping) else f" = {shown(value)}"


def _child(value: object, step: int | str) -> object:
    if isinstance(value, Mapping):
        return value.get(step)
    if isinstance(value, Sequence) and isinstance(step, int) and step < len(value):
        return value[step]
    return None


def _own_name(value: object) -> str | None:
    if not isinstance(value, Mapping):
        return None
    own = value.get("id", value.get("name", value.get("exercise")))
    return own if isinstance(own, str) else None
