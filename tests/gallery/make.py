"""From cases to pages: known clips into a folder, and one batch over all of them."""

from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path

import numpy as np
from typer.testing import CliRunner

from formcheck.cli.app import app
from formcheck.clips.files import fingerprint
from formcheck.clips.types import DecodeReport
from formcheck.landmarks.bundles import find_bundle
from formcheck.landmarks.cache import LandmarkCache, cache_key
from formcheck.landmarks.track import LandmarkTrack
from formcheck.pipeline.settings import Settings
from formcheck.sheets.video.encoder import ClipWriter
from tests.gallery.cases import CASES, PROGRAMME
from tests.gallery.figure import picture_of

PICTURES_HZ = 4.0


def make_gallery(folder: Path, only: Sequence[str] = (), options: Sequence[str] = ()) -> Path:
    """Clips and pages of the cases under ``folder``; returns the summary page.

    The caller has set FORMCHECK_CACHE_DIR to ``folder / "cache"``.
    """
    cases = [case for case in CASES if not only or case.name in only]
    clips = folder / "clips"
    clips.mkdir(exist_ok=True)
    (clips / "heron.toml").write_text(PROGRAMME)
    rows = ["clip,exercise,programme,client"]
    for case in cases:
        clip = clips / f"{case.name}.mp4"
        write_made_clip(clip, case.track(), folder / "cache")
        rows.append(f"{clip.name},{case.exercise},{'heron.toml' if case.programme else ''},Heron")
    (clips / "all.csv").write_text("\n".join(rows) + "\n")
    pages = folder / "pages"
    arguments = ["batch", str(clips / "all.csv"), "--out", str(pages), "--workers", "1", *options]
    done = CliRunner().invoke(app, arguments)
    if done.exit_code not in (0, 4):
        raise RuntimeError(done.output) from done.exception
    film(folder)
    return pages / "summary.html"


def film(folder: Path) -> None:
    """The filming card of one exercise beside the pages."""
    card = folder / "pages" / "filming"
    arguments = ["filming", "scaption-raise", "--html", f"{card}.html", "--pdf", f"{card}.pdf"]
    done = CliRunner().invoke(app, arguments)
    if done.exit_code:
        raise RuntimeError(done.output) from done.exception


def write_made_clip(path: Path, track: LandmarkTrack, cache: Path) -> None:
    """A clip of the made person, whose landmarks formcheck will find in that cache folder.

    A clip that is there already is kept, so that only its landmarks follow the code.
    """
    times = np.arange(0.0, float(track.time_s[-1]), 1 / PICTURES_HZ)
    if not path.exists():
        with ClipWriter(path) as writer:
            for time_s in times:
                writer.add(float(time_s), picture_of(track, float(time_s)))
    rate_hz = round((len(track.time_s) - 1) / float(track.time_s[-1]), 1)
    report = DecodeReport(len(track.time_s), float(track.time_s[-1]), rate_hz, False, 0, 0, False)
    key = cache_key(fingerprint(path), find_bundle("full").sha256, Settings().of_frames())
    LandmarkCache(cache).put(key, track, {"report": asdict(report), "problems": []})
