"""A clip gets the same result whichever way it is checked."""

import pytest
from typer.testing import CliRunner

from formcheck.cli.app import app
from tests.known_clips import write_known_clip
from tests.synthetic import Arm, constant, cycles, make_track
from tests.synthetic_sets import circling, press_cycle

pytestmark = pytest.mark.slow

PROGRAMME = """
client = "heron"
phase = "weeks 3 to 5"
[[items]]
exercise = "bent-elbow-circle"
side = "right"
[[items]]
exercise = "elbow-curl"
side = "right"
"""
OPTIONS = {
    "named": ("--exercise", "belly-press"),
    "open": (),
    "prescribed": ("--programme", "heron.toml"),
}
MANIFEST = """clip,exercise,programme
named.mp4,belly-press,
open.mp4,,
prescribed.mp4,,heron.toml
"""


def tracks():
    press, press_s, _ = press_cycle(["belly", "belly"])
    circles, circles_s, _ = circling([2, -2])
    turning = Arm(
        elevation=constant(20.0),
        elbow=constant(90.0),
        rotation=cycles([1.5, 6.0, 10.5], 55, -45, up_s=1.5, top_s=0.5, down_s=1.5),
    )
    return {
        "named": make_track(duration_s=press_s, right=press, yaw_deg=45),
        "open": make_track(duration_s=16, right=turning),
        "prescribed": make_track(duration_s=circles_s, right=circles, yaw_deg=45),
    }


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Three clips, each checked by itself and all of them as a batch."""
    folder = tmp_path_factory.mktemp("clips")
    for name, track in tracks().items():
        write_known_clip(folder / f"{name}.mp4", track, folder / "cache")
    (folder / "heron.toml").write_text(PROGRAMME)
    (folder / "all.csv").write_text(MANIFEST)
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        patch.setenv("FORMCHECK_CACHE_DIR", str(folder / "cache"))
        for name, options in OPTIONS.items():
            run("check", f"{name}.mp4", *options, "--out", "one", "--no-pdf")
        run("batch", "all.csv", "--out", "many", "--workers", "1", "--no-pdf")
    return folder


def run(*arguments):
    done = CliRunner().invoke(app, arguments)
    assert done.exit_code == 0, done.output


@pytest.mark.parametrize("file", ["result.json", "measures.csv", "reps.csv"])
@pytest.mark.parametrize("name", OPTIONS)
def test_check_and_batch_cannot_differ(folder, name, file):
    one, many = (folder / way / name / file for way in ("one", "many"))
    assert one.read_bytes() == many.read_bytes()
    assert len(one.read_bytes()) > 500
