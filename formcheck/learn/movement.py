"""What kind of movement a demonstration shows, and the measure that shows it best."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.catalogue.measures import MEASURES
from formcheck.catalogue.views import FilmingView
from formcheck.errors import UnusableClipError
from formcheck.exercises.schema import Dose, Exercise, Filming, Primary
from formcheck.measures.table import SIDES, MeasureTable, Side
from formcheck.movements.both_arms import move_together
from formcheck.movements.segment import find_reps, working_sides
from formcheck.movements.signals import EXTREME_PERCENTILES, REST_S, combined, usual_range
from formcheck.movements.types import Rep

PREFERENCE = {
    "shoulder_elevation": 1.0,
    "elbow_flexion": 0.7,
    "axial_rotation": 1.0,
    "plane_of_elevation": 0.7,
    "hand_height": 0.45,
}
"""Measures that may show a movement, and how much they are preferred: angles before the hand. A
proposal."""
MIN_CLEARNESS = 2.5
"""Range over standard uncertainty from which a measure shows the movement. A proposal."""
HOLD_FROM_S = 2.5
"""A top that lasts this long is a hold. A proposal."""
MIN_RANGE_SHARE = 1 / 3
"""Share of the demonstrated range that may count as a repetition at all. A proposal."""
LEAST_RANGE = {"deg": 8.0, "cm": 3.0}
"""A movement has at least this range, by unit. A proposal."""
MIN_ROUNDNESS, MIN_CIRCLES = 0.5, 2
"""An arm draws circles if at least so many of them are at least so round. A proposal."""
MOSTLY = 0.5
"""The body is upright if the trunk's lean is known for more of the clip than this. A proposal."""
MIN_KNOWN_SHARE = 0.6
"""A measure that is known for less of the clip than this does not show the movement. A proposal."""


@dataclass(frozen=True, slots=True)
class Movement:
    """A draft exercise without checks, the sides that work in the clip, and their repetitions."""

    draft: Exercise
    sides: tuple[Side, ...]
    reps: tuple[Rep, ...]


def find_movement(table: MeasureTable, name: str) -> Movement:
    """The movement that the demonstration repeats.

    Raises UnusableClipError if nothing stands out from the uncertainty of the camera.
    """
    best: tuple[float, Movement] | None = None
    for draft in _drafts(table, name):
        sides = SIDES if draft.arms == "both" else working_sides(table, draft)
        reps = tuple(rep for rep in find_reps(table, draft, sides) if not rep.partial)
        if not reps or (draft.movement == "circle" and not _draws_circles(reps)):
            continue
        clearness = _clearness(table, draft, sides, reps)
        if best is None or clearness > best[0]:
            best = clearness, Movement(draft, sides, reps)
        if draft.movement == "circle":
            break
    if best is None:
        raise UnusableClipError(
            "No movement stands out in the demonstration. Film it again with the arm in full view, "
            "two quiet seconds at the start, and at least two whole repetitions."
        )
    movement = best[1]
    tops = [rep.top_end_s - rep.top_start_s for rep in movement.reps]
    if movement.draft.movement == "rep" and float(np.median(tops)) >= HOLD_FROM_S:
        dose = movement.draft.dose.model_copy(update={"hold_s": float(round(np.median(tops)))})
        draft = movement.draft.model_copy(update={"movement": "hold", "dose": dose})
        reps = tuple(r for r in find_reps(table, draft, movement.sides) if not r.partial)
        movement = Movement(draft, movement.sides, reps)
    return movement


def _drafts(table: MeasureTable, name: str) -> list[Exercise]:
    """Everything that the demonstration may be: circles first, then each measure that moves."""
    size = max(_range(table, "shoulder_elevation", side) for side in SIDES)
    least = max(MIN_RANGE_SHARE * size, LEAST_RANGE["deg"])
    circle = Primary(measure="shoulder_elevation", min_range=round(least))
    drafts = [_draft(table, name, "circle", circle, "one")]
    for measure in PREFERENCE:
        busiest = max(SIDES, key=lambda side: _range(table, measure, side))
        series = combined(table, measure, (busiest,))
        size = _range(table, measure, busiest)
        known = np.isfinite(series.value)
        if known.mean() < MIN_KNOWN_SHARE or size < MIN_CLEARNESS * float(
            np.median(series.sd[known])
        ):
            continue
        least = max(MIN_RANGE_SHARE * size, LEAST_RANGE[MEASURES[measure].unit])
        primary = Primary(
            measure=measure,
            direction=_direction(table.time_s[known], series.value[known]),
            min_range=round(least),
        )
        arms = "both" if move_together(table, measure) else "one"
        drafts.append(_draft(table, name, "rep", primary, arms))
    return drafts


def _draft(
    table: MeasureTable,
    name: str,
    movement: Literal["rep", "circle"],
    primary: Primary,
    arms: str,
) -> Exercise:
    stands = np.isfinite(table.series("trunk_lean_forward").value).mean() > MOSTLY
    return Exercise.model_construct(
        name=name,
        position="standing" if stands else "any",
        arms=arms,
        load="none",
        movement=movement,
        primary=primary,
        dose=Dose(count=1, per_direction=False, source="learned"),
        filming=Filming(best=(film_view(table),), advice="as in the demonstration"),
        checks=(),
        parts=(),
    )


def film_view(table: MeasureTable) -> FilmingView:
    """The demonstration's view as exercise files name it; front where it is not known."""
    return table.view.name.general or FilmingView.FRONT


def _range(table: MeasureTable, measure: str, side: Side) -> float:
    value = combined(table, measure, (side,)).value
    return usual_range(np.where(table.moving_about, np.nan, value))


def _direction(times: FloatArray, value: FloatArray) -> Literal["rise", "fall"]:
    """Away from where the arm rests at the beginning and the end."""
    rest = np.median(value[(times <= times[0] + REST_S) | (times >= times[-1] - REST_S)])
    low, high = np.percentile(value, EXTREME_PERCENTILES)
    return "rise" if rest <= (low + high) / 2 else "fall"


def _draws_circles(reps: tuple[Rep, ...]) -> bool:
    return sum(rep.measures["roundness"].value >= MIN_ROUNDNESS for rep in reps) >= MIN_CIRCLES


def _clearness(
    table: MeasureTable, draft: Exercise, sides: tuple[Side, ...], reps: tuple[Rep, ...]
) -> float:
    """Range over uncertainty, less where the repetitions differ, by how much people prefer it."""
    sizes = np.array([rep.measures["range"].value for rep in reps])
    sd = float(np.nanmedian(combined(table, draft.primary.measure, sides[:1]).sd))
    even = 1 / (1 + float(np.std(sizes) / np.mean(sizes)))
    return PREFERENCE[draft.primary.measure] * float(np.median(sizes)) / sd * even
