"""The tables: ``measures.csv``, one row per time, and ``reps.csv``, one row per repetition."""

import csv
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

import numpy as np

from formcheck.catalogue.measures import MEASURES
from formcheck.checks.result import ClipResult, Finding, JudgedRep
from formcheck.measures.table import SIDES, MeasureTable, column_name
from formcheck.text import escape_formula
from formcheck.words.labels import check_title
from formcheck.words.words import words_for

_REP_FIELDS = (
    "index",
    "kind",
    "side",
    "part",
    "direction",
    "partial",
    "start_s",
    "top_start_s",
    "top_end_s",
    "end_s",
    "hold_s",
    "score",
    "coverage",
    "score_uncertainty",
)
_FINDING_FIELDS = (
    "value",
    "uncertainty",
    "unit",
    "margin",
    "verdict",
    "at_s",
    "probability_outside",
)
_ENGLISH = words_for("en")
"""Titles stand here in English whatever the pages are in."""
_BLOCK_ROWS = 1000
"""Rows that are turned into text at a time. Mechanical."""


def write_measures_csv(table: MeasureTable, path: Path) -> None:
    """One row per analysed time; every column ``X`` is followed by ``X_sd``; blank where unknown.

    Every measure of the catalogue is there, in its place; last comes ``bridged``: 1 where a gap of
    up to 0.2 s was filled from both sides, else 0.
    """
    unknown = np.full(len(table.time_s), np.nan)
    header, columns = ["time_s"], [table.time_s]
    for name in measure_columns():
        series = table.columns.get(name)
        header += [name, f"{name}_sd"]
        columns += [series.value, series.sd] if series else [unknown, unknown]
    header.append("bridged")
    columns.append(table.bridged.astype(float))
    blocks = (
        np.column_stack([column[start : start + _BLOCK_ROWS] for column in columns])
        for start in range(0, len(table.time_s), _BLOCK_ROWS)
    )
    rows = ([_number(value) for value in row] for block in blocks for row in block.tolist())
    _write(path, header, rows)


def measure_columns() -> Iterator[str]:
    """The columns of ``measures.csv`` by place, of the left side before the right."""
    rows = [row for row in MEASURES.values() if row.over_time]
    for place in sorted({row.csv_place for row in rows}):
        here = [row for row in rows if row.csv_place == place]
        for side in SIDES if here[0].sided else (None,):
            yield from (column_name(row.name, side) for row in here)


def write_reps_csv(result: ClipResult, path: Path) -> None:
    """One row per repetition; for each check its value, uncertainty, unit, margin, verdict, at_s and
    probability_outside, of the arm that is nearest to a fault where both did it at once; last the
    number of its set, and what each check is called.
    """
    check_ids = list(dict.fromkeys(f.id for judged in result.reps for f in judged.findings))
    header = [
        *_REP_FIELDS,
        *(f"{i}_{field}" for i in check_ids for field in _FINDING_FIELDS),
        "set",
        *(f"{i}_title" for i in check_ids),
    ]
    titles = {f.id: check_title(f, _ENGLISH) for judged in result.reps for f in judged.findings}
    named = [_cell(titles[i]) for i in check_ids]
    rows = ([*_rep_row(judged, check_ids), *named] for judged in result.reps)
    _write(path, header, rows)


def _rep_row(judged: JudgedRep, check_ids: Sequence[str]) -> list[str]:
    rep = judged.rep
    own = {
        "score": judged.score,
        "coverage": judged.coverage,
        "score_uncertainty": judged.score_uncertainty,
    }
    row = [_cell(own[name] if name in own else getattr(rep, name)) for name in _REP_FIELDS]
    for check_id in check_ids:
        mine = [finding for finding in judged.findings if finding.id == check_id]
        row += _finding_cells(min(mine, key=_margin, default=None))
    return [*row, _cell(rep.set)]


def _margin(finding: Finding) -> float:
    return np.inf if finding.margin is None else finding.margin


def _finding_cells(finding: Finding | None) -> list[str]:
    if finding is None:
        return [""] * len(_FINDING_FIELDS)
    return [_cell(getattr(finding, name)) for name in _FINDING_FIELDS]


def _cell(value: object) -> str:
    match value:
        case None:
            return ""
        case bool():
            return "true" if value else "false"
        case int() | float():
            return _number(value)
    return escape_formula(str(value))


def _number(value: float) -> str:
    if not np.isfinite(value):
        return ""
    return f"{round(value, 4) + 0.0:.4f}".rstrip("0").rstrip(".")  # + 0.0: never "-0"


def _write(path: Path, header: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    with path.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow([escape_formula(name) for name in header])
        writer.writerows(rows)
