"""The reference of the TOML files, made from the schema itself.

``python -m formcheck.exercises.reference > formcheck/exercises/REFERENCE.md`` renews the page.
"""

import sys
from collections.abc import Iterable, Iterator

from pydantic import BaseModel

from formcheck.catalogue.measures import MEASURES, Scope, names_of
from formcheck.exercises.explain import Location, Node, expected, node_at, shown
from formcheck.exercises.programme_file import ProgrammeFile
from formcheck.exercises.schema import Exercise
from formcheck.exercises.vocabulary import WORDS

OVER_TIME = names_of(Scope.ARM, Scope.GIRDLE, Scope.TRUNK)
_HEAD = """\
# Reference of exercise and programme files

This page is made from the program; do not edit it by hand. The guide (GUIDE.md) explains how the
keys work together.
"""


def reference_markdown() -> str:
    """The whole page, as Markdown."""
    lines = [
        _HEAD,
        "# Exercise files\n",
        *_model(Exercise, "Top of the file"),
        *_table("Measures that change all the time", OVER_TIME),
        *_table("Measures of a whole repetition (statistic `value`)", names_of(Scope.REPETITION)),
        *_words(),
        "# Programme files\n",
        *_model(ProgrammeFile, "Top of the file"),
    ]
    return "\n".join(lines).rstrip() + "\n"


def _model(model: type[BaseModel], title: str) -> Iterator[str]:
    """One section for the model and one for each kind of table inside it."""
    schema = model.model_json_schema()
    yield from _section(schema, (), title)
    seen: set[str] = set()
    for loc, heading in _tables_in(schema, (), ""):
        kind = node_at(schema, loc)["title"]
        if kind not in seen:
            yield from _section(schema, loc, heading)
        seen.add(kind)


def _tables_in(schema: Node, loc: Location, path: str) -> Iterator[tuple[Location, str]]:
    """Every table inside the one at ``loc``, with its heading as it stands in a file."""
    for key in node_at(schema, loc)["properties"]:
        name = f"{path}.{key}" if path else key
        for inner, heading in (((*loc, key), f"`[{name}]`"), ((*loc, key, 0), f"`[[{name}]]`")):
            if "properties" in node_at(schema, inner):
                yield inner, heading
                yield from _tables_in(schema, inner, name)


def _section(schema: Node, loc: Location, heading: str) -> Iterator[str]:
    node = node_at(schema, loc)
    yield f"## {heading}\n"
    yield _paragraph(node.get("description", "")) + "\n"
    yield "| key | must be | without it | meaning |"
    yield "|---|---|---|---|"
    required = node.get("required", ())
    for key, raw in node["properties"].items():
        inner = node_at(schema, (*loc, key))
        default = "required" if key in required else _default(raw)
        meaning = raw.get("description") or inner.get("description", "")
        yield f"| `{key}` | {_must_be(inner)} | {default} | {_cell(meaning)} |"
    yield ""


def _must_be(node: Node) -> str:
    choices = tuple(node.get("enum", ()))
    if choices == OVER_TIME:
        return "a measure over time"
    return "a measure" if choices == tuple(MEASURES) else _cell(expected(node))


def _default(raw: Node) -> str:
    default = raw.get("default")
    return "nothing" if default is None or default == [] else f"`{shown(default)}`"


def _table(heading: str, names: Iterable[str]) -> Iterator[str]:
    yield f"## {heading}\n"
    yield "| measure | unit | targets from | to | meaning |"
    yield "|---|---|---|---|---|"
    for name in names:
        measure = MEASURES[name]
        low, high = measure.bounds
        yield f"| `{name}` | {measure.unit} | {low:g} | {high:g} | {_cell(measure.meaning)} |"
    yield ""


def _words() -> Iterator[str]:
    for key, choices in WORDS.items():
        yield f"## Choices of `{key}`\n"
        yield "| choice | meaning |"
        yield "|---|---|"
        for choice, meaning in choices.items():
            yield f"| `{choice}` | {_cell(meaning)} |"
        yield ""


def _paragraph(text: str) -> str:
    """A docstring as Markdown: its lines joined, its code marks turned into Markdown's."""
    return "\n\n".join(" ".join(part.split()) for part in text.replace("``", "`").split("\n\n"))


def _cell(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|")


if __name__ == "__main__":
    sys.stdout.write(reference_markdown())
