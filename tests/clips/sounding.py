"""Small clips with a tone in them."""

from pathlib import Path

import av
import numpy as np

from tests.clips.maker import TICK, draw

TONE_S = (1.0, 1.5)
_LENGTH_S = 2.5


def write_sounding(
    path: Path,
    *,
    rate_hz: int = 48_000,
    layout: str = "mono",
    pictures_begin_s: float = 0.0,
    sound_begins_s: float = 0.0,
) -> Path:
    """A clip of 2.5 seconds whose sound track has a tone of 440 Hz in TONE_S, else silence."""
    seconds = np.arange(round(_LENGTH_S * rate_hz)) / rate_hz
    tone = 0.5 * np.sin(2 * np.pi * 440 * seconds)
    tone[(seconds < TONE_S[0]) | (seconds >= TONE_S[1])] = 0.0
    channels = 1 if layout == "mono" else 2
    with av.open(str(path), "w") as container:
        video = container.add_stream("libx264", rate=30, options={"preset": "ultrafast"})
        video.width, video.height, video.pix_fmt = 64, 48, "yuv420p"
        video.codec_context.time_base = TICK
        audio = container.add_stream("aac", rate=rate_hz, layout=layout)
        for number in range(round(_LENGTH_S * 30)):
            frame = av.VideoFrame.from_ndarray(draw(number, 64, 48), format="rgb24")
            frame = frame.reformat(format="yuv420p")
            frame.pts, frame.time_base = round((pictures_begin_s + number / 30) / TICK), TICK
            container.mux(video.encode(frame))
        container.mux(video.encode(None))
        for start in range(0, len(tone) - 1023, 1024):
            block = np.tile(tone[start : start + 1024].astype(np.float32), (channels, 1))
            frame = av.AudioFrame.from_ndarray(block, format="fltp", layout=layout)
            frame.rate, frame.pts = rate_hz, start + round(sound_begins_s * rate_hz)
            container.mux(audio.encode(frame))
        container.mux(audio.encode(None))
    return path
