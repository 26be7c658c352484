"""Clips of any length, made from a sample clip played again and again without decoding it."""

from fractions import Fraction
from pathlib import Path

import av

SAMPLES = Path(__file__).parents[2] / "sample_clips"
SAMPLE = SAMPLES / "side-raise_front.mp4"
HOLDS = SAMPLES / "belly-press_left-arm.mp4"


def looped(source: Path, path: Path, seconds: float) -> Path:
    """``source`` repeated to about so many seconds."""
    with av.open(str(path), "w") as out:
        stream = None
        start = 0
        while stream is None or start * stream.time_base < seconds:
            with av.open(str(source)) as clip:
                video = clip.streams.video[0]
                if stream is None:
                    stream = out.add_stream_from_template(video)
                    stream.time_base = video.time_base
                length = video.duration
                for packet in clip.demux(video):
                    if packet.size:
                        packet.pts += start
                        packet.dts += start
                        packet.stream = stream
                        out.mux(packet)
                start += length
    return path


def doubled(source: Path, path: Path) -> Path:
    """``source`` at twice the rate, with the mean of two pictures between them."""
    with av.open(str(source)) as clip, av.open(str(path), "w") as out:
        rate = 2 * Fraction(clip.streams.video[0].average_rate)
        stream = out.add_stream("libx264", rate=rate)
        stream.width, stream.height = clip.streams.video[0].width, clip.streams.video[0].height
        stream.pix_fmt = "yuv420p"
        before = None
        for frame in clip.decode(video=0):
            picture = frame.to_ndarray(format="rgb24")
            between = picture if before is None else (picture // 2 + before // 2)
            for one in (between, picture):
                out.mux(stream.encode(av.VideoFrame.from_ndarray(one, format="rgb24")))
            before = picture
        out.mux(stream.encode())
    return path


def enlarged(source: Path, path: Path, width: int, height: int) -> Path:
    """``source`` with larger pictures."""
    with av.open(str(source)) as clip, av.open(str(path), "w") as out:
        rate = Fraction(clip.streams.video[0].average_rate)
        stream = out.add_stream("libx264", rate=rate, options={"preset": "ultrafast"})
        stream.width, stream.height, stream.pix_fmt = width, height, "yuv420p"
        for frame in clip.decode(video=0):
            out.mux(stream.encode(frame.reformat(width, height)))
        out.mux(stream.encode())
    return path
