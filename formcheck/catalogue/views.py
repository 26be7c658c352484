"""From where the camera looks: the views that are measured, and those that exercise files ask for."""

from collections.abc import Mapping
from enum import StrEnum
from math import floor


class FilmingView(StrEnum):
    """Where the camera stands, as an exercise file asks for it."""

    FRONT = "front"
    BACK = "back"
    LEFT = "left"
    RIGHT = "right"
    SIDE = "side"
    OBLIQUE = "oblique"
    BACK_OBLIQUE = "back-oblique"


GENERAL_YAW_DEG: Mapping[FilmingView, float] = {
    FilmingView.FRONT: 0.0,
    FilmingView.OBLIQUE: 45.0,
    FilmingView.SIDE: 90.0,
    FilmingView.BACK_OBLIQUE: 135.0,
    FilmingView.BACK: 180.0,
}
"""The views that name no side of the body: how far the working side is turned toward the camera.
Mechanical."""


class MeasuredView(StrEnum):
    """The eighth of a circle from which a clip shows the subject's trunk.

    In the order of yaw, 45 degrees apart: 0 faces the camera, positive when the subject's right side
    turns toward it.
    """

    FRONT = "front"
    OBLIQUE_RIGHT = "oblique-right"
    RIGHT = "right"
    BACK_OBLIQUE_RIGHT = "back-oblique-right"
    BACK = "back"
    BACK_OBLIQUE_LEFT = "back-oblique-left"
    LEFT = "left"
    OBLIQUE_LEFT = "oblique-left"
    UNKNOWN = "unknown"

    @classmethod
    def at_yaw(cls, yaw_deg: float) -> "MeasuredView":
        """The view whose eighth of the circle a yaw falls into."""
        return tuple(cls)[floor((yaw_deg + 22.5) / 45) % 8]

    @property
    def general(self) -> FilmingView | None:
        """The same view without the side of the body; None where it is unknown."""
        if self is MeasuredView.UNKNOWN:
            return None
        if self in (MeasuredView.LEFT, MeasuredView.RIGHT):
            return FilmingView.SIDE
        return FilmingView(self.removesuffix("-left").removesuffix("-right"))
