"""How a clip is looked at."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from formcheck.errors import UsageError
from formcheck.landmarks.track import MAX_SIDE_PX
from formcheck.measures.posture import DEFAULT_STATURE_M

SideChoice = Literal["left", "right", "both"]
Progress = Callable[[float], None]
"""Takes the share of the work that is done, 0-1."""


def of_two(on_progress: Progress | None, place: int) -> Progress | None:
    """The progress of the first (``place`` 0) or the second of two clips."""
    if on_progress is None:
        return None
    return lambda share: on_progress((place + share) / 2)


STATURE_CM = (80.0, 230.0)
"""Heights of those who exercise, children among them. A proposal."""


@dataclass(frozen=True, slots=True)
class Settings:
    """How a clip is looked at. Equal settings on equal content give equal landmarks.

    ``person`` says whose movement is measured, where several people are in view: counted from 1,
    from left to right. None finds the one who does the exercise.
    """

    model: str = "full"
    rate_hz: float = 30.0
    max_side_px: int = MAX_SIDE_PX
    mirrored: bool = False
    speed: float = 1.0
    every_frame: bool = False
    person: int | None = None
    stature_m: float = DEFAULT_STATURE_M
    use_cache: bool = True

    def of_frames(self) -> dict[str, object]:
        """The settings that shape the frames, and with them the landmarks."""
        return {
            "rate_hz": self.rate_hz,
            "max_side_px": self.max_side_px,
            "mirrored": self.mirrored,
            "speed": self.speed,
            "every_frame": self.every_frame,
            "person": self.person,
        }


def refuse_stature(given_cm: float) -> None:
    """Raise UsageError unless somebody may be so tall."""
    least, most = STATURE_CM
    if least <= given_cm <= most:
        return
    meant = f"; give it in cm: {100 * given_cm:.0f}" if least <= 100 * given_cm <= most else ""
    raise UsageError(f"{given_cm:g} is not from {least:g} to {most:g}{meant}")
