"""Visits: what a compound exercise takes for one go at a part."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from formcheck.movements.types import Rep

RUN_GAP_S = 2.5
"""Circles of one direction with no longer pause between them are one run. A proposal."""


@dataclass(frozen=True, slots=True)
class Visit:
    """A repetition, a hold, or a run of circles: ``reps``; ``span`` is all of it as one repetition."""

    span: Rep
    reps: tuple[Rep, ...]


def visits_of(reps: Sequence[Rep]) -> list[Visit]:
    """Repetitions in order of time as visits, circles of one run together.

    A run ends where the direction or the part changes, or the arm rests.
    """
    runs: list[list[Rep]] = []
    for rep in reps:
        if runs and _goes_on(runs[-1][-1], rep):
            runs[-1].append(rep)
        else:
            runs.append([rep])
    return [Visit(_span(run), tuple(run)) for run in runs]


def _goes_on(last: Rep, rep: Rep) -> bool:
    return (
        last.kind == rep.kind == "circle"
        and (last.direction, last.part) == (rep.direction, rep.part)
        and rep.start_s - last.end_s <= RUN_GAP_S
    )


def _span(run: list[Rep]) -> Rep:
    """A run of circles as one long repetition that is at its top all the time."""
    first, end_s = run[0], run[-1].end_s
    if first.kind != "circle":
        return first
    return replace(first, top_start_s=first.start_s, top_end_s=end_s, end_s=end_s, measures={})
