"""The summary says who needs a look first, and why, and is safe to open."""

import csv
import io
import re
from base64 import b64encode
from dataclasses import replace
from hashlib import sha256

import pytest

from formcheck.batch.job import Job, outcome_of
from formcheck.batch.ledger import Outcomes
from formcheck.batch.summary import as_csv, as_html, in_order
from formcheck.batch.triage import LEVELS, triage
from formcheck.catalogue.codes import Importance, ProblemCode, Verdict
from formcheck.catalogue.problems import RecordingProblem
from formcheck.catalogue.views import MeasuredView
from formcheck.checks.result import (
    ClipFacts,
    ClipResult,
    CountedDose,
    DirectionCount,
    DoseCount,
    Finding,
    JudgedRep,
    PrescribedDose,
    Provenance,
    RepCount,
    RoundCount,
    Summary,
)  # fmt: skip
from formcheck.errors import OutputError
from formcheck.exercises.library import load_exercise
from formcheck.measures.table import View
from formcheck.movements.types import Rep
from formcheck.sheets.pages.dose import counted_line
from formcheck.sheets.pages.marks import mark_of, plain_mark
from formcheck.words.words import words_for

LIBRARY = load_exercise("scaption-raise")
OTHER, SECOND, *REST = LIBRARY.checks
SAFETY = SECOND.model_copy(update={"importance": Importance.SAFETY})
EXERCISE = LIBRARY.model_copy(update={"checks": (OTHER, SAFETY, *REST)})


def rep(*outside, coverage=1.0):
    findings = tuple(
        Finding(
            check.id, check.measure, check.statistic, check.phase, 1.0, 0.1, "deg", 0.0, 0.5,
            -0.5, "outside", 1.0, check.cue, None,
        )
        for check in outside
    )  # fmt: skip
    return JudgedRep(Rep(1, "rep", "right", False, 0.0, 1.0, 1.5, 2.0), 90, coverage, findings)


HIP_SAG = Finding(
    "sag", "hip_off_line", "max", "whole", 11.1, 1.8, "cm", None, 5.5,
    -5.6, Verdict.OUTSIDE, 1.0, "Lift your hips.", None,
)  # fmt: skip


def counted_of(**by_side):
    return CountedDose(by_side=by_side)


def result(*reps, **changes):
    base = ClipResult(
        clip=ClipFacts("a.mp4", "0" * 64, 9.0, 270, 30.0, 64, 48, 0, variable_rate=False),
        exercise="scaption-raise",
        side="right",
        view=View(MeasuredView.FRONT, 0.0, 5.0),
        usable=True,
        tracked_share=1.0,
        problems=(),
        reps=reps,
        dose=DoseCount(PrescribedDose(len(reps)), counted_of(right=RepCount(len(reps))), True),
        summary=Summary(90, (), None, (), ()),
        provenance=Provenance("0", "full", "0" * 64, {}),
    )
    return replace(base, **changes)


ANOTHER = RecordingProblem(
    ProblemCode.ANOTHER_EXERCISE,
    params={"shown": "Elbow curl", "exercise": "Side raise", "probability": 0.97},
)


@pytest.mark.parametrize(
    ("judged", "level", "why"),
    [
        (result(rep(OTHER), rep(OTHER, SAFETY)), "safety", "outside in 1 of 2, at worst 1 ± 1°"),
        (
            result(rep(OTHER), problems=(ANOTHER,)),
            "unrecognised", "looks like Elbow curl",
        ),
        (
            result(problems=(ANOTHER,)),
            "unrecognised", "looks like Elbow curl",
        ),
        (result(rep(), rep(OTHER)), "work-on", "outside in 1 of 2, at worst 1 ± 1°"),
        (
            result(rep(), dose=DoseCount(PrescribedDose(10), counted_of(right=RepCount(1)), False)),
            "dose", "Counted 1 of 10.",
        ),
        (result(rep(coverage=0.2)), "doubtful", "Only 20 % of what should be judged"),
        (result(), "dose", "No complete repetition"),
        (result(rep()), "well", "Nothing outside"),
        (
            result(usable=False, problems=(RecordingProblem(ProblemCode.TOO_DARK, fatal=True),)),
            "unusable", "The picture is very dark.",
        ),
    ],
    ids=["safety", "another", "nothing in it", "work-on", "dose", "doubtful", "none", "well", "unusable"],
)  # fmt: skip
def test_each_clip_gets_its_level_and_reason(judged, level, why):
    assert triage(judged, EXERCISE)[0] == level
    assert why in triage(judged, EXERCISE)[1]


@pytest.mark.parametrize(
    ("by_side", "text"),
    [
        ({"right": RepCount(8)}, "8 of 10"),
        ({"left": RepCount(8), "right": RepCount(7)}, "left side 8 of 10, right side 7 of 10"),
        ({"right": DirectionCount(9, 10)}, "forward 9 of 10, backward 10 of 10"),
        ({"both": RoundCount(rounds=4, whole=3)}, "3 of 10 rounds"),
    ],
)
def test_counts_are_told_in_words(by_side, text):
    assert (
        counted_line(DoseCount(PrescribedDose(10), counted_of(**by_side), None), words_for("en"))
        == text
    )


def marks(*names):
    return tuple(plain_mark(name, words_for("en")) for name in names)


def outcome(name, level="well", why="Fine.", **changes):
    job = Job(clip=f"/uploads/{name}", shown=name, exercise=EXERCISE, folder=name.split(".")[0])
    return replace(outcome_of(job, changes.pop("status", "analysed"), level, why), **changes)


def test_the_most_urgent_comes_first_and_the_lowest_score_within_a_level():
    outcomes = [outcome(f"{level}.mp4", level) for level in reversed(LEVELS)]
    low, high = outcome("b.mp4", score=40), outcome("a.mp4", score=90)
    order = [o.shown for o in in_order([*outcomes, high, low])]
    assert order[:4] == ["stop.mp4", "limit-passed.mp4", "limit-perhaps.mp4", "safety.mp4"]
    assert order[-3:] == ["well.mp4", "b.mp4", "a.mp4"]


HOSTILE = '"><script>alert(1)</script><img src=x onerror=alert(2)>'


def test_the_table_holds_no_formula():
    text = as_csv([outcome("=1+1.mp4", why="@SUM(A1)", client="-2+3", score=7, dose_met=False)])
    (row,) = csv.DictReader(io.StringIO(text))
    assert (row["clip"], row["why"], row["client"]) == ("'=1+1.mp4", "'@SUM(A1)", "'-2+3")
    assert (row["score"], row["dose_met"], row["counted"]) == ("7", "false", "")


def test_the_page_shows_hostile_text_as_text_and_links_to_the_sheets():
    page = as_html(
        [
            outcome("a b#.mp4", folder="a b#", client=HOSTILE, why=HOSTILE),
            outcome("c.mp4", "unusable", status="unusable"),
            outcome(HOSTILE, "unseen", status="set-aside", folder=HOSTILE),
        ]
    )
    assert page.count("<script>") == 1
    assert "<img" not in page
    assert re.findall(r'href="([^"]+)"', page) == [
        "a%20b%23/coach.html",
        "a%20b%23/sheet.html",
        "c/sheet.html",
    ]


def test_the_page_allows_its_own_style_and_script_and_nothing_else():
    page = as_html([outcome("a.mp4")])
    (policy,) = re.findall(r'Content-Security-Policy" content="([^"]+)"', page)
    allowed = policy.replace("&#39;", "'").split("; ")

    def own(tag):
        (text,) = re.findall(rf"<{tag}>(.*?)</{tag}>", page, re.DOTALL)
        return "'sha256-" + b64encode(sha256(text.encode()).digest()).decode() + "'"

    assert allowed == [
        "default-src 'none'",
        "img-src 'self' file:",
        f"style-src {own('style')}",
        f"script-src {own('script')}",
        "base-uri 'none'",
        "form-action 'none'",
    ]
    assert not re.search(r"\s(src|href|style|on\w+)=\"(?!a/)", page)


def test_a_results_folder_that_goes_away_is_one_clear_line(tmp_path):
    with pytest.raises(OutputError, match="can no longer be read") as refused:
        Outcomes(tmp_path / "gone").read()
    assert len(str(refused.value).splitlines()) == 1


def test_clips_stand_by_client_and_the_client_of_the_most_urgent_first():
    page = as_html(
        in_order(
            [
                outcome("a.mp4", "well", client="Wren"),
                outcome("b.mp4", "work-on", client="Heron"),
                outcome("c.mp4", "limit-passed", client="Wren"),
            ]
        )
    )
    assert re.findall(r"<bdi>(Wren|Heron|[abc]\.mp4)</bdi>", page) == [
        "Wren", "c.mp4", "a.mp4", "Heron", "b.mp4",
    ]  # fmt: skip


def test_a_row_has_still_strip_finding_and_dose_and_no_empty_column():
    made = outcome(
        "a.mp4",
        "work-on",
        why="Hip sag: outside",
        counted="3 of 8",
        marks=marks("outside", "within"),
    )
    page = as_html([replace(made, title="Push-up plus")])
    assert page.count('<svg class="mark') == 2
    assert 'src="a/still.jpg"' in page
    assert "3 of 8" in page
    assert ">Dose<" in page
    assert ">Score<" not in page
    assert ">Dose<" not in as_html([outcome("a.mp4")])


def test_a_row_has_the_same_gauges_as_the_sheets():
    sag = mark_of(HIP_SAG, words_for("en"))
    page = as_html([outcome("a.mp4", marks=(sag,))])
    (dot,) = re.findall(r'class="dot-outside" cx="12.0" cy="([0-9.]+)"', page)
    (rail,) = re.findall(r'class="rail" d="M0 ([0-9.]+)L', page)
    assert float(dot) > float(rail)  # the hips are below their one limit


def test_a_long_set_is_told_in_counts_of_its_marks():
    page = as_html([outcome("a.mp4", marks=marks("within") * 30 + marks("outside") * 3)])
    assert "30 On target, 3 To work on" in page
