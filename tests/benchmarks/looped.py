"""Clips of any length, made from a sample clip played again and again without decoding it."""

from fractions import Fraction
from pathlib import Path

import av

SAMPLES = Path(__file__).parents[2] / "sample_clips"
SAMPLE = SAMPLES / "side-raise_front.mp4"


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
