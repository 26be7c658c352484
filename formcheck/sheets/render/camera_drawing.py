"""Where the camera stands and what it should see, drawn: for the filming guide and unusable clips."""

from dataclasses import dataclass

from jinja2 import Environment
from markupsafe import Markup

from formcheck.exercises.schema import Exercise
from formcheck.sheets.render.figure import draw_exercise
from formcheck.sheets.render.plan import DISTANCE_M, draw_plan
from formcheck.words.words import Words


@dataclass(frozen=True, slots=True)
class CameraDrawing:
    """The plan from above and the figure in the camera's picture, as SVG."""

    plan: Markup
    picture: Markup


def draw_camera(
    environment: Environment, exercise: Exercise, words: Words, *, standalone: bool = False
) -> CameraDrawing:
    """Both drawings of an exercise; ``standalone`` ones carry their own styles, for the PDF."""
    side = "both" if exercise.arms == "both" else "right"
    distance = words.exact(DISTANCE_M, "")
    view = words(f"filmed_from.{exercise.filming.best[0]}")
    alt = words("plan.alt", distance=distance, view=view)
    label = words("plan.figure")
    part = exercise.parts[0] if exercise.parts else None
    plan = draw_plan(
        environment,
        exercise,
        side,
        alt,
        words("plan.distance", distance=distance),
        standalone=standalone,
    )
    drawn = draw_exercise(environment, exercise, part, side, (label, label), standalone=standalone)
    return CameraDrawing(plan, drawn.end or drawn.start)
