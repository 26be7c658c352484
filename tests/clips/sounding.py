"""Small clips with a tone in them, and claps for clips that are there."""

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


def with_claps(path: Path, claps_s: list[float], seed: int) -> Path:
    """The clip with a sound track: a hissing room and claps at these times. In place."""
    rate_hz = 48_000
    rng = np.random.default_rng(seed)
    silent = path.rename(path.with_suffix(".silent.mp4"))
    with av.open(str(silent)) as clip, av.open(str(path), "w") as out:
        pictures = clip.streams.video[0]
        length_s = float(pictures.duration * pictures.time_base)
        sound = 0.002 * rng.standard_normal(round(length_s * rate_hz))
        for clap_s in claps_s:
            at = round(clap_s * rate_hz)
            sound[at : at + 4800] += (
                0.5 * np.exp(-np.arange(4800) / 600) * rng.standard_normal(4800)
            )
        video = out.add_stream_from_template(pictures)
        audio = out.add_stream("aac", rate=rate_hz, layout="mono")
        for packet in clip.demux(pictures):
            if packet.size:
                packet.stream = video
                out.mux(packet)
        for start in range(0, len(sound) - 1023, 1024):
            block = sound[start : start + 1024].astype(np.float32)[None]
            frame = av.AudioFrame.from_ndarray(block, format="fltp", layout="mono")
            frame.rate, frame.pts = rate_hz, start
            out.mux(audio.encode(frame))
        out.mux(audio.encode(None))
    silent.unlink()
    return path
