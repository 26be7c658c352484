"""The annotated clip: what was measured, drawn onto the recording at its moment."""

from collections.abc import Iterable
from pathlib import Path

from formcheck.clips.sound import Samples
from formcheck.clips.types import Frame
from formcheck.sheets.video.anonymise import Picture, anonymise
from formcheck.sheets.video.encoder import ClipWriter
from formcheck.sheets.video.lettering import Lettering
from formcheck.sheets.video.overlay import draw, lettering_for
from formcheck.sheets.video.overlay_plan import OverlayPlan
from formcheck.sheets.video.second_picture import SecondPicture, side_by_side
from formcheck.sheets.video.stills import as_jpeg

ANNOTATED_SIDE_PX = 960
"""Longest side of the annotated clip: a whole set stays small enough to send. A proposal."""


def annotate(
    frames: Iterable[Frame],
    plan: OverlayPlan,
    path: Path,
    *,
    show_face: bool = False,
    sound: Iterable[Samples] = (),
    poster_s: float = 0.0,
    second: SecondPicture | None = None,
) -> tuple[int, int, bytes]:
    """Write the annotated clip and give its width, its height and its poster.

    The poster is the first frame from ``poster_s`` on, as JPEG.

    Frames are all of one size, and each keeps its own time. They are anonymised unless
    ``show_face``; ``sound`` is what is heard with them; none of the source's own data go along.
    ``second`` has the other camera's picture of each moment, which is shown beside it.
    Raises OSError if the file cannot be written.
    """
    width = height = 0
    poster: Picture | None = None
    poster_at = 0.0
    lettering: Lettering | None = None
    with ClipWriter(path, sound) as writer:
        for frame in frames:
            image, time_s = frame.image, frame.time_s
            picture = image.copy() if show_face else anonymise(image, plan.track, time_s)
            lettering = lettering or lettering_for(plan, picture.shape[1], picture.shape[0])
            draw(plan, lettering, picture, time_s)
            if second is not None:
                picture = side_by_side(picture, second.at(time_s, picture.shape[0]))
            height, width = picture.shape[:2]
            writer.add(time_s, picture)
            if poster is None or poster_at < poster_s <= time_s:
                poster, poster_at = picture, time_s
    return width, height, b"" if poster is None else as_jpeg(poster)
