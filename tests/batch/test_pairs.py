"""Two clips of one set in a batch: one result of both, or one of each with the reason."""

import json

import pytest

from formcheck.batch.job import Setup
from formcheck.batch.ledger import Outcomes
from formcheck.batch.locks import FolderLocks
from formcheck.batch.plan import Request, make_plan
from formcheck.batch.summary import as_html
from formcheck.batch.workers.work import run_job
from formcheck.catalogue.codes import ProblemCode
from formcheck.sheets.options import SheetOptions
from formcheck.words.words import words_for
from tests.known_clips import write_known_clip
from tests.synthetic import Arm, constant, cycles
from tests.views.two_cameras import Phone, filmed

pytestmark = pytest.mark.slow

RAISE = Arm(
    elevation=cycles([2.2, 5.9], 8, 92, up_s=1.2, top_s=0.8, down_s=1.2),
    plane=constant(35.0),
    elbow=constant(8.0),
)
BESIDE, QUARTER_TURN = Phone(yaw_deg=4, height=1240), Phone(yaw_deg=70, height=1200)


@pytest.fixture
def do_pair(uploads, out, tmp_path, monkeypatch):
    """Do a batch of one pair in this process; its outcome."""
    monkeypatch.setenv("FORMCHECK_CACHE_DIR", str(tmp_path / "cache"))
    setup = Setup(out=out, sheets=SheetOptions(pdf=False))
    manifest = uploads / "visits.csv"
    out.mkdir()

    def do(second_phone):
        tracks = filmed(Phone(), second_phone, duration_s=10, right=RAISE)
        for name, track in zip(("front", "side"), tracks, strict=True):
            write_known_clip(uploads / f"{name}.mp4", track, tmp_path / "cache")
        manifest.write_text(
            "clip,second clip,client,exercise\nfront.mp4,side.mp4,heron,scaption-raise\n"
        )
        (job,) = make_plan(Request(sources=(str(manifest),), setup=setup)).jobs
        with FolderLocks(out) as locks:
            return run_job(job, setup, locks, lambda news: None)

    return do


def results(out):
    return {path.parent.name: json.loads(path.read_text()) for path in out.glob("*/result.json")}


def test_two_that_cannot_be_joined_give_two_ordinary_sheets_with_the_reason_on_both(do_pair, out):
    do_pair(BESIDE)
    found = results(out)
    assert {name: one["clip"]["file"] for name, one in found.items()} == {
        "front": "front.mp4",
        "front-second": "side.mp4",
    }
    reason = words_for("en")("problem.same-view-twice")
    for name, result in found.items():
        assert ProblemCode.SAME_VIEW_TWICE in [one["code"] for one in result["quality"]["problems"]]
        assert len(result["reps"]) == 2
        for page in ("sheet.html", "coach.html"):
            assert reason in (out / name / page).read_text("utf-8")


def test_the_page_of_all_clips_lists_both(do_pair, out):
    do_pair(BESIDE)
    outcomes = Outcomes(out).read()
    assert {one.shown for one in outcomes} == {"front.mp4", "side.mp4"}
    assert {one.client for one in outcomes} == {"heron"}
    page = as_html(outcomes)
    for folder in ("front", "front-second"):
        assert f"{folder}/coach.html" in page


def test_both_are_known_again_and_done_again_if_either_is_missing(do_pair, out):
    do_pair(BESIDE)
    assert do_pair(BESIDE).cached
    (out / "front-second/sheet.html").unlink()
    assert not do_pair(BESIDE).cached
    assert (out / "front-second/sheet.html").exists()


def test_the_second_sheet_goes_once_the_two_are_joined_but_notes_beside_it_stay(do_pair, out):
    do_pair(BESIDE)
    (out / "front-second/notes.txt").write_text("ask about the phone")
    do_pair(QUARTER_TURN)
    found = results(out)
    assert list(found) == ["front"]
    assert found["front"]["second_camera"]["clip"]["file"] == "side.mp4"
    assert [path.name for path in (out / "front-second").iterdir()] == ["notes.txt"]
