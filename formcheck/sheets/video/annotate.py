"""The annotated clip: what was measured, drawn onto the recording at its moment."""

from collections.abc import Iterable
from pathlib import Path

from formcheck.clips.sound import Samples
from formcheck.clips.types import Frame
from formcheck.landmarks.track import LandmarkTrack
from formcheck.sheets.video.anonymise import veil
from formcheck.sheets.video.encoder import ClipWriter
from formcheck.sheets.video.overlay import Overlay

ANNOTATED_SIDE_PX = 960


def annotate(
    frames: Iterable[Frame],
    track: LandmarkTrack,
    overlay: Overlay,
    path: Path,
    *,
    show_face: bool = False,
    sound: Iterable[Samples] = (),
) -> tuple[int, int]:
    """Write the annotated clip and give its width and height.

    Every frame keeps its own time; head and room are veiled unless ``show_face``; ``sound`` is what
    is to be heard with them; the source's own data are left behind. Raises OSError if the file
    cannot be written.
    """
    width = height = 0
    with ClipWriter(path, sound) as writer:
        for frame in frames:
            picture = frame.image.copy() if show_face else veil(frame.image, track, frame.time_s)
            overlay.draw(picture, frame.time_s)
            writer.add(frame.time_s, picture)
            height, width = picture.shape[:2]
    return width, height
