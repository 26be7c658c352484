"""The numeric constants of the packages that decide results, with what each is and where it is from.

``python -m tests.constants`` lists those whose docstring does not end with its kind;
``python -m tests.constants page > formcheck/CONSTANTS.md`` renews the page.
"""

import ast
import re
import sys
import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

PACKAGE = Path(__file__).parents[1] / "formcheck"
PACKAGES = (
    "catalogue",
    "clips",
    "landmarks",
    "measures",
    "movements",
    "checks",
    "recognise",
    "learn",
    "filming",
    "pipeline",
)
"""The packages between a clip and its verdicts; the others present what these have decided."""

KINDS = {
    "Published": "taken from the source that is named",
    "Read on rendered people": "chosen by what clips of rendered people with known angles show",
    "Read on real people": "chosen by what recordings of people show",
    "Common practice, no source": "a habit of the trade",
    "A proposal": "our own choice, not yet held against anything",
    "Mechanical": "units, numerical safety, and sizes that decide no verdict",
}
_KIND = re.compile(
    rf"(?P<meaning>(?:.*\s)?)(?P<kind>Published(?=: )|{'|'.join(list(KINDS)[1:])})(?P<more>: .+)?\."
)
_WIDEST = 90
"""Longer tables of numbers are read where they stand."""
_NAME = re.compile(r"_?[A-Z][A-Z0-9_]*")

_HEAD = """\
# Numbers that decide

Every numeric constant between a clip and its verdicts, with what it is and where it comes from.
This page is made from the docstrings beside the constants; do not edit it by hand.

| kind | means |
|---|---|
"""


@dataclass(frozen=True, slots=True)
class Constant:
    """One numeric constant, or several that are set together, at the top level of a module."""

    module: str
    """Path inside the package."""
    line: int
    name: str
    value: str
    """As it stands in the source, on one line."""
    docstring: str
    """The text right below it, on one line; empty if there is none."""

    @property
    def meaning(self) -> str:
        """The docstring without its kind."""
        return self._parts["meaning"].strip()

    @property
    def kind(self) -> str:
        """One of KINDS, or nothing if the docstring does not end with one."""
        return self._parts["kind"]

    @property
    def origin(self) -> str:
        """The kind with whatever follows its colon."""
        return self._parts["kind"] + (self._parts["more"] or "")

    @property
    def _parts(self) -> dict[str, str]:
        found = _KIND.fullmatch(self.docstring)
        return found.groupdict() if found else {"meaning": self.docstring, "kind": "", "more": ""}


@cache
def numeric_constants() -> list[Constant]:
    """Every numeric constant of PACKAGES, in the order of packages, modules and lines."""
    return [
        constant
        for package in PACKAGES
        for path in [PACKAGE / f"{package}.py", *sorted((PACKAGE / package).rglob("*.py"))]
        if path.is_file()
        for constant in _constants_in(path)
    ]


def without_kind() -> list[Constant]:
    """Those of which nobody can tell where they come from."""
    return [constant for constant in numeric_constants() if not constant.kind]


def page() -> str:
    """The whole page, as Markdown."""
    lines = [_HEAD.rstrip()]
    lines += [f"| {kind} | {meaning} |" for kind, meaning in KINDS.items()]
    package = ""
    for constant in numeric_constants():
        if constant.module.split("/")[0] != package:
            package = constant.module.split("/")[0]
            lines += ["", f"## {package.removesuffix('.py')}", ""]
            lines += ["| constant | value | what it is | kind |", "|---|---|---|---|"]
        name = f"`{constant.name}`<br>{constant.module.partition('/')[2] or constant.module}"
        value = textwrap.shorten(constant.value, _WIDEST, placeholder=" …")
        cells = (name, f"`{value}`", constant.meaning, constant.origin)
        lines.append("| " + " | ".join(_cell(text) for text in cells) + " |")
    return "\n".join(lines) + "\n"


def _constants_in(path: Path) -> Iterator[Constant]:
    source = path.read_text("utf-8")
    statements = ast.parse(source).body
    for statement, below in zip(statements, [*statements[1:], None], strict=True):
        name, value = _assigned(statement)
        if name and value and _is_numeric(value):
            yield Constant(
                path.relative_to(PACKAGE).as_posix(),
                statement.lineno,
                name,
                _one_line(ast.get_source_segment(source, value) or ""),
                _one_line(_docstring(below)),
            )


def _assigned(statement: ast.stmt) -> tuple[str, ast.expr | None]:
    """The names in upper case that a statement sets, with commas between, and their value."""
    if isinstance(statement, ast.AnnAssign):
        targets: list[ast.expr] = [statement.target]
    elif isinstance(statement, ast.Assign):
        targets = list(statement.targets)
    else:
        return "", None
    names = [node.id for t in targets for node in ast.walk(t) if isinstance(node, ast.Name)]
    return ", ".join(filter(_NAME.fullmatch, names)), statement.value


def _is_numeric(value: ast.expr) -> bool:
    """Whether a number stands in the value, alone or in a tuple, a table or a calculation."""
    return any(
        isinstance(node, ast.Constant) and type(node.value) in (int, float)
        for node in ast.walk(value)
    )


def _docstring(below: ast.stmt | None) -> str:
    text = below.value if isinstance(below, ast.Expr) else None
    return text.value if isinstance(text, ast.Constant) and isinstance(text.value, str) else ""


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _cell(text: str) -> str:
    return text.replace("``", "`").replace("|", "\\|")


def main() -> None:
    """Write the page, or list what lacks a kind, by package."""
    sys.stdout.write(page() if sys.argv[1:] == ["page"] else _missing())


def _missing() -> str:
    missing = without_kind()
    lines = [
        f"formcheck/{constant.module}:{constant.line} {constant.name}: "
        f"{constant.docstring[-60:] or '(no docstring)'}"
        for constant in missing
    ]
    return "\n".join([*lines, f"{len(missing)} of {len(numeric_constants())} lack a kind", ""])


if __name__ == "__main__":
    main()
