"""Reading a recorded clip: upright pictures with exact times, in constant memory."""

from collections.abc import Iterator
from fractions import Fraction
from functools import partial
from pathlib import Path

from formcheck.catalogue.codes import ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.clips.decoder import Decoder, Picture, available_codecs
from formcheck.clips.files import fingerprint
from formcheck.clips.picture import Upright, fitted_size, shown_size
from formcheck.clips.times import Cadence, Thinning, TimeRepair, with_following
from formcheck.clips.types import GREY_STEP, ClipInfo, ClipLimits, DecodeReport, Frame, Pixels
from formcheck.errors import ClipError, UsageError

__all__ = ["ClipReader", "available_codecs", "open_clip"]

MIN_SPEED, MAX_SPEED = 0.05, 20.0
"""Slow-motion exports play at a quarter to a sixteenth of real speed; the rest is room. A proposal."""
MIN_SIDE_PX = 32
"""In a smaller picture nobody can be recognised. A proposal."""
_BYTES_A_PIXEL = 3
"""Red, green and blue, one byte each. Mechanical."""
_SHORT_SHARE, _SHORT_S = 0.02, 0.25
"""A clip ends early if it lacks more than both of these; files round the length they state.
A proposal."""


def open_clip(
    path: Path,
    *,
    mirrored: bool = False,
    speed: float = 1.0,
    limits: ClipLimits | None = None,
    threads: int = 1,
) -> "ClipReader":
    """Open a local video file; use as a context manager.

    ``mirrored`` exchanges left and right. ``speed`` is the speed at which the clip plays: 0.25 for
    a slow-motion export at quarter speed, whose real times are a quarter of the shown ones.
    More ``threads`` decode faster, but miss some damage: for looking, not for measuring.
    A clip beyond ``limits`` is refused at once where it says so itself, or when it gets there.
    Raises UsageError for a speed outside 0.05 to 20 and ClipError if no picture can be read.
    """
    if not MIN_SPEED <= speed <= MAX_SPEED:
        raise UsageError(f"speed {speed:g}: must lie between {MIN_SPEED:g} and {MAX_SPEED:g}")
    sha256 = fingerprint(path)
    reader = ClipReader(
        path,
        sha256,
        Decoder(path, threads),
        mirrored=mirrored,
        speed=Fraction(speed),
        limits=limits,
    )
    try:
        reader.refuse_beyond_limits(reader.info.stated_duration_s or 0.0)
    except ClipError:
        reader.close()
        raise
    return reader


class ClipReader:
    """An open clip: ``info`` is known at once, the report and problems once it has been read."""

    def __init__(
        self,
        path: Path,
        sha256: str,
        decoder: Decoder,
        *,
        mirrored: bool,
        speed: Fraction,
        limits: ClipLimits | None = None,
    ) -> None:
        self._decoder = decoder
        self._speed = speed
        self._limits = limits
        self._decoded_gb = 0.0
        self._repair = TimeRepair(decoder.step_s)
        self._cadence = Cadence(float(decoder.step_s * speed))
        self._begun = self._finished = False
        frame, matrix, length_s = decoder.first.frame, decoder.display_matrix, decoder.length_s
        upright = Upright.from_display_matrix(matrix) if matrix else Upright()
        self._upright = upright.mirrored() if mirrored else upright
        self._stored_size = shown_size(frame.width, frame.height, decoder.pixel_shape)
        width, height = upright.size(*self._stored_size)
        self.info = ClipInfo(
            path=path,
            sha256=sha256,
            width=width,
            height=height,
            rotation_deg=upright.rotation_deg,
            container=decoder.container,
            codec=decoder.codec,
            pixel_format=frame.format.name,
            stated_duration_s=None if length_s is None else float(length_s * speed),
        )

    def __enter__(self) -> "ClipReader":
        return self

    def __exit__(self, *error: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the file."""
        self._decoder.close()

    def frames(
        self, *, max_side_px: int | None = None, rate_hz: float | None = None
    ) -> Iterator[Frame]:
        """The upright pictures in order of showing; can be read once.

        ``max_side_px`` scales pictures down to that longer side. ``rate_hz`` keeps about so many
        evenly spaced pictures a second of real time. Those left out, and those whose colours are
        never asked for, cost no more than their decoding.
        """
        if self._begun:
            raise RuntimeError("the frames of a clip can be read once; open the clip again")
        self._begun = True
        size = fitted_size(*self._stored_size, max_side_px)
        thinning = Thinning(rate_hz)
        for (picture, time), following in with_following(self._timed()):
            if thinning.keeps(time, following[1] if following else None):
                yield Frame(
                    float(time),
                    partial(self._rgb, picture, size),
                    partial(self._grey, picture, size),
                )
        self._finished = True

    def _rgb(self, picture: Picture, size: tuple[int, int]) -> Pixels:
        return self._upright.apply(self._decoder.rgb(picture, *size))

    def _grey(self, picture: Picture, size: tuple[int, int]) -> Pixels:
        width, height = (max(1, side // GREY_STEP) for side in size)
        return self._upright.apply(self._decoder.grey(picture, width, height))

    @property
    def report(self) -> DecodeReport:
        """What decoding met. Raises RuntimeError before ``frames`` has been read to its end."""
        if not self._finished:
            raise RuntimeError("the frames of the clip must be read to their end first")
        return DecodeReport(
            frames=self._cadence.frames,
            duration_s=self._cadence.duration_s,
            mean_rate_hz=self._cadence.mean_rate_hz,
            variable_rate=self._cadence.variable,
            damaged_packets=self._decoder.damaged,
            repaired_times=self._repair.repaired,
            ended_early=self._ended_early(),
        )

    @property
    def problems(self) -> tuple[RecordingProblem, ...]:
        """What a reader of the sheet must know about the recording. Raises as ``report``."""
        report, info = self.report, self.info
        found: list[RecordingProblem] = []
        if min(info.width, info.height) < MIN_SIDE_PX:
            found.append(_too_small(info))
        if report.damaged_packets:
            found.append(_damaged(report))
        if report.repaired_times:
            found.append(_times_repaired(report))
        if report.ended_early:
            found.append(_ended_early(info, report))
        return tuple(found)

    def _timed(self) -> Iterator[tuple[Picture, Fraction]]:
        """All pictures with their real times from the first, which are summed up on the way."""
        for picture, following in with_following(self._decoder.pictures()):
            shown = self._repair.place(picture.stamp_s, following.stamp_s if following else None)
            time = shown * self._speed
            self._decoded_gb += _BYTES_A_PIXEL * picture.frame.width * picture.frame.height / 1e9
            self.refuse_beyond_limits(float(time))
            self._cadence.add(float(time))
            yield picture, time

    def refuse_beyond_limits(self, duration_s: float) -> None:
        """Raise ClipError if the clip is too long, its pictures too large, or all of them too much."""
        limits, info = self._limits, self.info
        if limits is None:
            return
        if duration_s > limits.duration_s:
            what = f"is longer than the limit of {limits.duration_s / 60:g} minutes; cut it shorter"
        elif info.width * info.height > limits.pixels:
            what = (
                f"has pictures of {info.width} x {info.height}, more than the limit of "
                f"{limits.pixels / 1e6:g} megapixels; export it smaller"
            )
        elif self._decoded_gb > limits.decoded_gb:
            what = f"comes to more than the limit of {limits.decoded_gb:g} GB of pictures; cut it"
        else:
            return
        raise ClipError(f"{info.path.name}: {what}, or raise the limit")

    def _ended_early(self) -> bool:
        if self.info.stated_duration_s is None:
            return self._decoder.broke_off
        lacking_s = self.info.stated_duration_s - self._cadence.duration_s
        return lacking_s > max(
            _SHORT_SHARE * self.info.stated_duration_s, _SHORT_S * float(self._speed)
        )


def _too_small(info: ClipInfo) -> RecordingProblem:
    size = {"width_px": info.width, "height_px": info.height}
    return RecordingProblem(ProblemCode.TOO_SMALL, fatal=True, params=size, form="picture")


def _damaged(report: DecodeReport) -> RecordingProblem:
    stored = report.damaged_packets + report.frames
    return RecordingProblem(
        ProblemCode.DAMAGED_PICTURES,
        params={"damaged": report.damaged_packets, "stored": stored},
    )


def _times_repaired(report: DecodeReport) -> RecordingProblem:
    return RecordingProblem(
        ProblemCode.TIMES_REPAIRED,
        params={"repaired": report.repaired_times, "stored": report.frames},
    )


def _ended_early(info: ClipInfo, report: DecodeReport) -> RecordingProblem:
    stated_s = info.stated_duration_s
    return RecordingProblem(
        ProblemCode.ENDED_EARLY,
        start_s=report.duration_s,
        params={"read_s": report.duration_s, "stated_s": stated_s},
        form="stated" if stated_s else "unstated",
    )
