"""Tables of the report."""

from collections.abc import Iterable


def table(first: str, rows: Iterable[tuple[str, list[str]]], head: Iterable[str]) -> str:
    """A table in Markdown from a heading row and rows of a name and its cells."""
    columns = [first, *head]
    lines = ["| " + " | ".join(columns) + " |", "|" + "---|" * len(columns)]
    lines += ["| " + " | ".join([name, *cells]) + " |" for name, cells in rows]
    return "\n".join(lines) + "\n"
