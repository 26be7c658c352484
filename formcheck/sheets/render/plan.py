"""Where the camera stands, from above: the body, the camera, and the distance between them."""

import numpy as np
from jinja2 import Environment
from markupsafe import Markup

from formcheck.catalogue.arrays import FloatArray
from formcheck.catalogue.views import GENERAL_YAW_DEG, FilmingView
from formcheck.exercises.schema import Exercise
from formcheck.filming.poses import drawn_poses
from formcheck.filming.stick_figure import figure

_UNITS_PER_M = 82.0
"""Scale of the body in the plan. Mechanical."""
_CAMERA_UNITS = 128.0
"""How far from the body the camera is drawn, which is nearer than it stands. Mechanical."""
_FIELD_UNITS = 64.0
"""Half the width at least of what the camera sees, where it is drawn to end. Mechanical."""
_MARGIN_UNITS = 10.0
"""Room between a hand and the edge of what the camera sees. Mechanical."""
DISTANCE_M = 3.0
"""How far away the camera stands, in the middle of the 2.5 to 4 m that are advised. A proposal."""
_YAW_DEG = {FilmingView.LEFT: -90.0, FilmingView.RIGHT: 90.0}


def draw_plan(
    environment: Environment,
    exercise: Exercise,
    side: str,
    label: str,
    distance: str,
    *,
    standalone: bool = False,
) -> Markup:
    """The plan, the camera at the bottom. ``distance`` is written beside the line of sight."""
    view = exercise.filming.best[0]
    yaw_deg = GENERAL_YAW_DEG.get(view, _YAW_DEG.get(view, 0.0))
    poses = drawn_poses(exercise, exercise.parts[0] if exercise.parts else None)
    both = exercise.arms == "both"
    one = figure(exercise.position, poses, both_arms=both, top=True, yaw_deg=yaw_deg)
    mirror = -1.0 if side == "left" else 1.0

    def flat(joint: FloatArray) -> tuple[float, float]:
        return (
            round(mirror * float(joint[0]) * _UNITS_PER_M, 1),
            round(float(joint[2]) * _UNITS_PER_M, 1),
        )

    joints = {name: flat(joint) for name, joint in one.joints.items()}
    middle = np.mean([joints["working shoulder"], joints["other hip"]], axis=0)
    nearest = max(y for _, y in joints.values())
    camera = max(float(middle[1]), nearest - 30.0) + _CAMERA_UNITS
    field = _field(list(joints.values()), float(middle[0]), camera, float(middle[1]) - 16)
    svg = environment.get_template("plan.svg.jinja").render(
        joints=joints,
        middle=[round(float(value), 1) for value in middle],
        nearest=round(nearest + 12, 1),
        camera=round(camera, 1),
        field=[round(value, 1) for value in field],
        box=_box(list(joints.values()), float(middle[0]), camera, field[0]),
        both=both,
        label=label,
        distance=distance,
        standalone=standalone,
    )
    return Markup(svg)  # noqa: S704 - made by our own template, which escapes


def _field(
    points: list[tuple[float, float]], middle: float, camera: float, far: float
) -> tuple[float, float]:
    """Half the width of what the camera sees, and where it is drawn to end, with all of the body in it."""
    slope = max((abs(x - middle) + _MARGIN_UNITS) / (camera - y) for x, y in points)
    return max(_FIELD_UNITS, slope * (camera - far)), far


def _box(
    points: list[tuple[float, float]], middle: float, camera: float, field: float
) -> tuple[float, float, float, float]:
    """Left, top, width and height, as wide to both sides of the camera."""
    half = max(field + 14, *(abs(x - middle) + 16 for x, _ in points))
    top = min(y for _, y in points) - 16
    return round(middle - half, 1), round(top, 1), round(2 * half, 1), round(camera + 30 - top, 1)
