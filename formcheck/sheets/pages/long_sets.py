"""Long sets in print: how many repetitions have each mark, and in full those that matter most.

Nobody leafs through hundreds, and typesetting them takes a gigabyte of memory. The pages on the
screen and the tables hold every repetition.
"""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from formcheck.checks.result import ClipResult, JudgedRep
from formcheck.exercises.schema import Exercise
from formcheck.sheets.pages.cards import RepCard
from formcheck.sheets.pages.coach import MatrixRow
from formcheck.sheets.pages.gauge import plain_gauge
from formcheck.sheets.pages.marks import MOST_URGENT_FIRST, Mark, rep_mark
from formcheck.sheets.pages.moments import rep_key
from formcheck.words.words import Words

LONG_SET = 40
"""Sets of more repetitions than this are printed in part. A proposal."""
COACH_REPS, CLIENT_REPS = 16, 10
"""How many repetitions of a long set are printed. A proposal."""


@dataclass(frozen=True, slots=True)
class Tally:
    """How many there are of one mark."""

    mark: Mark
    count: int


@dataclass(frozen=True, slots=True)
class CheckTally:
    """How many there are of each mark of one check."""

    label: str
    limits: str
    tallies: tuple[Tally, ...]


def reps_to_print(result: ClipResult, exercise: Exercise, words: Words) -> frozenset[str]:
    """Keys of the repetitions to print in full for the coach: all of a set that is not long.

    Of a long set, for each check the one furthest outside its limits; then those outside,
    borderline, not measurable and partial, in each group the lowest scores first.
    """
    if len(result.reps) <= LONG_SET:
        return frozenset(rep_key(judged.rep) for judged in result.reps)
    chosen = {rep_key(judged.rep) for judged in _furthest_outside(result.reps)}

    def urgency(judged: JudgedRep) -> tuple[bool, int, float]:
        mark = rep_mark(judged, exercise, words).name
        score = 101.0 if judged.score is None else judged.score
        return rep_key(judged.rep) not in chosen, MOST_URGENT_FIRST.index(mark), score

    return frozenset(rep_key(one.rep) for one in sorted(result.reps, key=urgency)[:COACH_REPS])


def evenly_spaced(reps: tuple[RepCard, ...]) -> tuple[RepCard, ...]:
    """The repetitions printed for the client: all, or some of a long set, evenly spaced."""
    if len(reps) <= LONG_SET:
        return reps
    step = (len(reps) - 1) / (CLIENT_REPS - 1)
    return tuple(reps[round(k * step)] for k in range(CLIENT_REPS))


def tally_marks(marks: Iterable[Mark]) -> tuple[Tally, ...]:
    """How many there are of each mark, the best first; too high and too low count as one."""
    counts = Counter(Mark(mark.name, mark.word, plain_gauge(mark.name)) for mark in marks)
    order = sorted(counts, key=lambda mark: -MOST_URGENT_FIRST.index(mark.name))
    return tuple(Tally(mark, counts[mark]) for mark in order)


def tally_checks(matrix: tuple[MatrixRow, ...]) -> tuple[CheckTally, ...]:
    """How many of each mark each check has over all whole repetitions."""
    return tuple(
        CheckTally(row.label, row.limits, tally_marks(cell.mark for cell in row.cells if cell))
        for row in matrix
    )


def _furthest_outside(reps: tuple[JudgedRep, ...]) -> Iterable[JudgedRep]:
    worst: dict[str, tuple[float, JudgedRep]] = {}
    for judged in reps:
        for finding in judged.findings:
            if finding.verdict == "outside" and finding.margin is not None:
                known = worst.get(finding.id)
                if known is None or finding.margin < known[0]:
                    worst[finding.id] = finding.margin, judged
    return (judged for _, judged in worst.values())
