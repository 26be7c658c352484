"""Reading a manifest's rows from CSV, TOML or JSON; what they mean is for ``manifest.py``."""

import csv
import io
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from formcheck.errors import UsageError
from formcheck.exercises.explain import nearest
from formcheck.exercises.toml_file import parse_toml
from formcheck.text import strip_control
from formcheck.text_file import read_text_file

SAID = (
    *("pain before", "pain during", "pain after", "pain next morning", "effort"),
    *("stopped by", "words", "red flags"),
)
"""What the client says, as columns."""
COLUMNS = (
    *("clip", "client", "exercise", "side", "date", "programme", "phase", "second clip"),
    *("stature cm", *SAID),
)
SUFFIXES = (".csv", ".toml", ".json")
MAX_BYTES = 8 * 2**20
"""Room for tens of thousands of clips; anything larger is some other file. A proposal."""
MOST_TOLD = 20
"""Problems that are told one by one; of more, the number. Mechanical."""

_OTHER_NAMES = {"alias": "client", "client alias": "client"}


@dataclass(frozen=True, slots=True)
class Row:
    """One row: its number, and its cells as text, blank ones left out.

    Rows of a CSV file are counted as a spreadsheet does, the header being row 1; tables from 1.
    """

    number: int
    cells: Mapping[str, str]


@dataclass(slots=True)
class Problems:
    """Everything wrong with a manifest, each with its row and column."""

    name: str
    found: list[tuple[int, str]] = field(default_factory=list)

    def add(self, row: int, column: str, text: str) -> None:
        """Note one problem; ``column`` is empty if it is the row as a whole."""
        place = f"row {row}" + (f", column {column:.40}" if column else "")
        self.found.append((row, strip_control(f"{self.name}: {place}: {text}")))

    def stop_if_any(self) -> None:
        """Raise UsageError with them, one line each, in order of the rows; of many, the first."""
        if not self.found:
            return
        in_order = sorted(self.found, key=lambda problem: problem[0])
        lines = [line for _, line in in_order[:MOST_TOLD]]
        if more := len(in_order) - len(lines):
            lines.append(f"{self.name}: and {more} more; put these right first")
        raise UsageError("\n".join(lines))

    @property
    def enough(self) -> bool:
        """Whether more were found than are told, so that no help with another will be read."""
        return len(self.found) >= MOST_TOLD


def read_rows(path: Path, problems: Problems) -> list[Row]:
    """The rows of a manifest; what is wrong with them as a table is added to ``problems``.

    Raises UsageError if the file cannot be read as what its suffix says.
    """
    text = read_text_file(path, path.name, MAX_BYTES)
    try:
        if path.suffix.lower() == ".csv":
            rows = _csv_rows(text, problems)
        else:
            read: Any = parse_toml if path.suffix.lower() == ".toml" else json.loads
            rows = _table_rows(read(text), problems)
    except (csv.Error, ValueError, RecursionError) as error:
        reason = "nested too deeply" if isinstance(error, RecursionError) else error
        raise UsageError(
            f"{path.name}: cannot be read as {path.suffix[1:].upper()}: {reason}"
        ) from None
    if not rows and not problems.found:
        raise UsageError(f"{path.name}: lists no clips; give at least one row with a clip")
    return rows


def _csv_rows(text: str, problems: Problems) -> list[Row]:
    heading = text.lstrip().split("\n", 1)[0]
    delimiter = max(",;\t", key=heading.count)  # spreadsheets write what their country uses
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    columns: list[str] | None = None
    rows = []
    for number, cells in enumerate(reader, start=1):
        if not any(cell.strip() for cell in cells):
            continue
        if columns is None:
            columns = _columns(cells, number, problems)
        elif len(cells) > len(columns):
            problems.add(
                number,
                "",
                f"has {len(cells)} cells, but there are {len(columns)} columns; "
                f"put text that holds '{delimiter}' between double quotes",
            )
        else:
            rows.append(_row(number, dict(zip(columns, cells, strict=False))))
    return rows


def _table_rows(content: object, problems: Problems) -> list[Row]:
    lists = [content] if isinstance(content, list) else []
    if isinstance(content, Mapping):
        lists = [value for value in content.values() if isinstance(value, list)]
    if len(lists) != 1 or not all(isinstance(item, Mapping) for item in lists[0]):
        raise ValueError("it should hold one list of tables, one table a clip")
    rows = []
    for number, item in enumerate(lists[0], start=1):
        columns = _columns(list(item), number, problems)
        cells = {}
        for column, value in zip(columns, item.values(), strict=True):
            if column in SAID and isinstance(value, int) and not isinstance(value, bool):
                cells[column] = str(value)
            elif isinstance(value, str | date) or value is None:
                cells[column] = "" if value is None else str(value)
            elif column in COLUMNS:
                problems.add(number, column, f"{value!r:.60} should be text between quotes")
                cells[column] = ""
        rows.append(_row(number, cells))
    return rows


def _columns(headings: Sequence[str], number: int, problems: Problems) -> list[str]:
    """The columns that headings mean; unknown ones are reported and keep their heading."""
    columns: list[str] = []
    for heading in headings:
        plain = " ".join(heading.replace("_", " ").split()).casefold()
        column = _OTHER_NAMES.get(plain, plain)
        if column not in COLUMNS and column:
            close = nearest(column, COLUMNS)
            hint = f'did you mean "{close}"?' if close else f"use {', '.join(COLUMNS)}"
            problems.add(number, heading.strip(), f"there is no such column; {hint}")
        elif column and column in columns:
            problems.add(number, heading.strip(), "is there twice")
        columns.append(column)
    if "clip" not in columns:
        problems.add(number, "clip", "is missing; it names the video file of each row")
    return columns


def _row(number: int, cells: Mapping[str, str]) -> Row:
    return Row(number, {k: v.strip() for k, v in cells.items() if k in COLUMNS and v.strip()})
