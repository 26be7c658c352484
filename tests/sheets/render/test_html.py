import base64
import hashlib
import re
from collections import Counter
from dataclasses import replace
from importlib import resources

import numpy as np
import pytest
from jinja2 import nodes

from formcheck.catalogue.codes import LimitState, ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.checks.result import (
    CountedDose,
    DoseCount,
    LimitReport,
    PrescribedDose,
    RepCount,
    Summary,
)
from formcheck.sheets.pages.client import client_page
from formcheck.sheets.pages.coach import coach_page
from formcheck.sheets.pages.sheet import gather_sheet, heading_of, unusable_page
from formcheck.sheets.render.html import (
    client_html,
    coach_html,
    environment,
    unusable_html,
)
from formcheck.text import strip_bidi
from formcheck.words.labels import check_title
from tests.sheets.render.page import CLIP, Page, pages_of

OURS = {
    "a", "html", "head", "meta", "title", "style", "body", "header", "main", "footer", "section",
    "article", "h1", "h2", "h3", "p", "ul", "ol", "li", "dl", "dt", "dd", "div", "span", "strong",
    "small", "bdi", "img", "button", "details", "summary", "figure", "figcaption", "table",
    "thead", "tbody", "tr", "th", "td", "textarea", "video", "label", "input", "output", "script",
    "svg", "path", "circle", "rect", "text", "desc", "defs", "pattern",
}  # fmt: skip


def policy(page):
    index = page.attributes.index(("meta", "http-equiv", "Content-Security-Policy"))
    return page.attributes[index + 1][2]


@pytest.mark.slow
def test_pages_load_nothing_from_anywhere(sheet, words):
    for html in pages_of(sheet, words).values():
        page = Page(html)
        assert set(page.values("src")) - {"annotated.mp4"} == {
            v for v in page.values("src") if v.startswith("data:image/jpeg;base64,")
        }
        assert all(href.startswith("#") for href in page.values("href"))
        assert "@import" not in html
        assert (
            re.findall(r"https?://[^\s\"']+", html.replace("http://www.w3.org/2000/svg", "")) == []
        )
        assert not re.search(r"url\((?!#)", html)


def test_pages_allow_only_their_own_style_and_script_by_hash(sheet, words):
    for name, html in pages_of(sheet, words).items():
        rules = policy(Page(html))
        assert "default-src 'none'" in rules
        assert "unsafe" not in rules
        blocks = re.findall(r"<(style|script)>(.*?)</\1>", html, re.DOTALL)
        scripts = ("clip" in name) + ("coach" in name)  # the player and the coach's note
        assert [kind for kind, _ in blocks] == ["style", *["script"] * scripts]
        for kind, text in blocks:
            digest = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
            (allowed,) = (rule for rule in rules.split("; ") if rule.startswith(f"{kind}-src"))
            assert f"'sha256-{digest}'" in allowed


def test_pages_hold_no_inline_style_or_handler_that_the_policy_would_stop(sheet, words):
    for html in pages_of(sheet, words).values():
        names = {name for _, name, _ in Page(html).attributes}
        assert "style" not in names
        assert not {name for name in names if name.startswith("on")}


def test_ids_are_unique_and_references_lead_somewhere(sheet, words):
    for html in pages_of(sheet, words).values():
        page = Page(html)
        ids = Counter(page.values("id"))
        assert [i for i, n in ids.items() if n > 1] == []
        for name in ("aria-labelledby", "aria-describedby"):
            for value in page.values(name):
                assert set(value.split()) <= set(ids)


def test_the_client_reads_what_was_counted_what_went_well_and_two_cues(sheet, words):
    text = Page("".join(client_html(sheet, words))).words
    for piece in (
        "for Heron", "25 November 2026", "5 of 8 done", "Asked for: 8 repetitions",
        "One was begun but not finished",
        "You raised your arm to the height that was asked every time.",
        "Let your shoulder stay low as your arm goes up.", "To work on in 2 of 5 repetitions.",
        "Keep your elbow long.", "The camera cannot be sure.",
        "Arm direction", "Stop on sharp or rising pain",
        "Not after a fresh operation",
    ):  # fmt: skip
        assert piece in text


def _without_cues(result, reps):
    """The whole set done, and no cue to give."""
    dose = replace(result.dose, met=True)
    return replace(result, reps=reps, dose=dose, summary=replace(result.summary, cues=()))


def test_who_has_no_cue_is_told_to_go_on_only_if_what_makes_the_exercise_was_seen(
    result, exercise, words
):
    def page(**changes):
        reps = tuple(
            replace(
                rep,
                findings=tuple(
                    replace(f, **{"id": exercise.checks[0].id, "verdict": "within", **changes})
                    for f in rep.findings
                ),
            )
            for rep in result.reps
        )
        return client_page(_without_cues(result, reps), exercise, words)

    assert "Keep going" in page().next_none
    for verdict in ("borderline", "not-measurable"):
        unsure = page(verdict=verdict, probability_outside=0.3, essential=True)
        assert "Keep going" not in unsure.next_none
        check = exercise.checks[0]
        asked = f"{check_title(check, words)}: is it as asked? If not: {check.cue}"
        assert unsure.check_yourself == (asked,)
    assert "could not show what to work on" in page(verdict="not-measurable").next_none


def test_what_is_unsure_without_a_sign_of_a_fault_is_no_worry_of_the_client(
    result, exercise, words
):
    doubt = {"verdict": "borderline", "probability_outside": 0.3}
    reps = tuple(
        replace(rep, findings=tuple(replace(f, **doubt) for f in rep.findings[:1]))
        for rep in result.reps
    )
    unsure = _without_cues(result, reps)
    client = client_page(unsure, exercise, words)
    assert "Keep going" in client.next_none
    assert {(card.mark.word, card.note) for card in client.reps[:5]} == {("Done", "")}
    assert "Arm height" in dict(coach_page(unsure, exercise, words).facts)["Not sure of"]


def test_what_is_perhaps_not_on_target_is_never_headed_by_nothing_needs_changing(
    result, exercise, words
):
    doubt = {"verdict": "borderline", "probability_outside": 0.6}
    first, *others = (replace(rep, findings=rep.findings[:1]) for rep in result.reps)
    doubtful = replace(first, findings=(replace(first.findings[0], **doubt),))
    client = client_page(_without_cues(result, (doubtful, *others)), exercise, words)
    assert client.reps[0].mark.word == "Perhaps not on target"
    assert client.next_none == (
        "What may not be on target in 1 of your 5 repetitions: arm height, average at the turning"
        " point. The camera cannot be sure. Your coach will look at it."
    )


LIMIT = LimitReport(
    "never-above-shoulder-elevation", "shoulder_elevation", LimitState.PASSED, None, 60.0, "deg",
    94.0, 5.0, 2.0, 5, 5, "Only as high as the shelf.",
)  # fmt: skip


@pytest.mark.parametrize(
    ("state", "title", "said", "counts", "asked"),
    [
        (
            LimitState.PASSED, "Stop lower", "you went to about 94°",
            "does not count as done", "before you do this exercise again",
        ),
        (
            LimitState.PERHAPS_PASSED, "You may have gone past your limit", "it read 94 ± 5°",
            "Your coach will say whether this set counts", "ask your coach to look at this clip",
        ),
    ],
)  # fmt: skip
def test_a_limit_that_was_or_may_have_been_passed_comes_before_all_else(
    result, exercise, words, state, title, said, counts, asked
):
    """What was only perhaps passed is told as a doubt, with what to do in proportion."""
    silent = replace(result.summary, cues=(), praise=None)
    passed = replace(result, limits=(replace(LIMIT, state=state),), summary=silent)
    (card,) = client_page(passed, exercise, words).limits
    assert card.title == title
    assert said in card.text
    assert "60°" in card.text
    assert card.own_words == "Only as high as the shelf."
    page = client_page(passed, exercise, words)
    assert counts in page.dose_line
    assert asked in page.next_none
    assert page.well.startswith("You filmed 5 whole repetitions")
    assert "not yet" not in page.dose_line
    (name, text), *_ = coach_page(passed, exercise, words).facts
    assert name.startswith("Limit")
    assert "94 ± 5° in 5 of 5, limit at most 60°" in text


def test_a_limit_that_could_not_be_checked_is_told_to_the_coach_with_the_view_that_would(
    result, exercise, words
):
    unchecked = replace(LIMIT, state=LimitState.UNCHECKED, better_view="side", value=None)
    facts = coach_page(replace(result, limits=(unchecked,)), exercise, words).facts
    assert facts[0][0] == "Limit unchecked"
    assert "from the side" in facts[0][1]
    assert client_page(replace(result, limits=(unchecked,)), exercise, words).limits == ()


ANOTHER = RecordingProblem(
    ProblemCode.ANOTHER_EXERCISE,
    params={"shown": "Elbow curl", "exercise": "Scaption raise", "probability": 0.97},
)


@pytest.mark.parametrize(
    "note", [ANOTHER, RecordingProblem(ProblemCode.ANOTHER_POSITION, form="level")]
)
def test_a_clip_that_shows_something_else_says_so_first_and_judges_nothing(
    result, exercise, words, note
):
    nothing = Summary(None, (), None, (), ())
    dose = replace(result.dose, counted=CountedDose(), met=None)
    wrong = replace(result, problems=(note,), reps=(), dose=dose, summary=nothing)
    client, coach = client_page(wrong, exercise, words), coach_page(wrong, exercise, words)
    assert client.notice.endswith("Ask your coach which exercise to film.")
    assert words.tell(note.message) not in client.notice
    assert (client.cues, client.reps, coach.cues, coach.reps) == ((), (), (), ())
    assert client.done == "Nothing was counted"
    assert "which exercise" in client.next_none
    assert coach.facts[0][1] == words.tell(note.message)
    assert dict(coach.facts)["Score"] == "no score: another exercise"
    assert client_page(result, exercise, words).notice == ""


def test_holds_that_were_too_short_are_counted_apart(result, exercise, words):
    counted = CountedDose(3, {"right": RepCount(3)}, holds_s=(6.0, 6.1, 2.0), long_enough=2)
    dose = DoseCount(PrescribedDose(3, hold_s=5.0), counted, met=False)
    short = replace(result, dose=dose)
    said = "Surely held for the full 5 s: 2 of 3."
    assert said in client_page(short, exercise, words).dose_line
    assert said in dict(coach_page(short, exercise, words).facts)["Dose"]
    whole = replace(short, dose=replace(short.dose, counted=replace(counted, long_enough=3)))
    assert "held for" not in client_page(whole, exercise, words).dose_line


def test_parts_with_other_limits_of_one_check_have_rows_of_their_own(result, exercise, words):
    first, second, *more = result.reps
    other = tuple(replace(f, high=99.0) if f.id == "elbow-straight" else f for f in second.findings)
    parts = replace(result, reps=(first, replace(second, findings=other), *more))
    rows = {row.label: [] for row in coach_page(parts, exercise, words).matrix}
    for row in coach_page(parts, exercise, words).matrix:
        rows[row.label].append(row.limits)
    assert sorted(len(limits) for limits in rows.values()) == [1, 1, 1, 1, 2]


def test_rows_of_one_check_with_other_limits_are_named_by_their_part(result, exercise, words):
    first, second, *_ = result.reps
    other = tuple(replace(f, high=99.0) if f.id == "elbow-straight" else f for f in second.findings)
    named = (
        replace(first, rep=replace(first.rep, part="belly")),
        replace(second, rep=replace(second.rep, part="bear-hug"), findings=other),
    )
    labels = [row.label for row in coach_page(replace(result, reps=named), exercise, words).matrix]
    assert len(labels) == len(set(labels))
    assert {label.split(" (")[-1] for label in labels if "(" in label} == {"belly)", "bear-hug)"}


def test_the_client_sees_the_line_of_the_arm_that_was_seen(sheet, words):
    first, *more = sheet.charts
    unseen = replace(first, label="elbow bend, left side", value=np.full_like(first.value, np.nan))
    html = "".join(client_html(replace(sheet, charts=(unseen, first, *more)), words))
    assert first.label in html
    assert "left side" not in html
    only = "".join(client_html(replace(sheet, charts=(unseen,)), words))
    assert words("client.movement") not in Page(only).words


def test_nobody_is_sent_to_film_again_where_no_view_would_show_more(result, exercise, words):
    advice = exercise.filming.advice
    vain = replace(result, summary=replace(result.summary, film_anew=False))
    for page in (client_page, coach_page):
        assert page(result, exercise, words).film == advice
        assert page(vain, exercise, words).film == ""


def test_the_client_meets_no_number_that_needs_explaining(sheet, words):
    html = re.sub(
        r"<details>.*?</details>", "", "".join(client_html(sheet, words)), flags=re.DOTALL
    )
    html = re.sub(r"<(style|svg)\b.*?</\1>", "", html, flags=re.DOTALL)
    text = Page(html).words
    assert "±" not in text
    assert "°" not in text
    assert "95" not in text


def test_every_picture_says_what_it_is_of(sheet, words):
    for html in pages_of(sheet, words).values():
        page = Page(html)
        alts = page.values("alt")
        assert len(alts) == page.tags["img"] > 0
        assert all(alts)


def test_verdicts_differ_in_shape_and_word_and_not_in_colour_only(sheet, words):
    html = "".join(client_html(sheet, words))
    strip = re.search(r'<ol class="rail-strip".*?</ol>', html, re.DOTALL).group()
    marks = re.findall(r"<svg class=\"mark ([a-z-]+)\".*?aria-label=\"(.*?)\">(.*?)</svg>", strip)
    drawn = {(label, shape) for _, label, shape in marks}
    assert len(marks) == 6
    assert len(drawn) == len({shape for _, shape in drawn}) == 4


def test_moments_can_be_sought_only_where_there_is_a_clip(sheet, words):
    assert Page("".join(client_html(sheet, words))).values("data-seek") == []
    page = Page("".join(client_html(sheet, words, CLIP)))
    assert "10.0" in page.values("data-seek")
    assert page.tags["video"] == 1
    assert page.values("data-moments") == ["[1.0, 4.8, 8.6, 12.4, 16.2, 20.0]"]


def test_a_single_file_carries_the_clip_in_itself(sheet, words):
    clip = replace(CLIP, src="", data="AAAA")
    page = Page("".join(coach_html(sheet, words, clip)))
    assert "annotated.mp4" not in page.values("src")
    assert ("script", "id", "clip-data") in page.attributes


def test_a_note_is_on_the_coachs_page_and_never_on_the_clients(sheet, words):
    noted = replace(sheet, note=("Two cushions next time.", "", "</textarea><b>bold</b>"))
    coach, client = (
        Page("".join(coach_html(noted, words))),
        Page("".join(client_html(noted, words))),
    )
    assert "Two cushions next time. </textarea><b>bold</b>" in coach.words
    assert "Two cushions" not in client.words
    assert coach.tags["b"] == 0


def test_the_pages_say_whether_the_clip_has_its_sound(sheet, words):
    for sound, said in ((False, "no sound"), (True, "with its sound")):
        page = Page("".join(client_html(sheet, words, replace(CLIP, sound=sound))))
        assert any(said in label for label in page.values("aria-label"))
        assert (("video", "muted", "") in page.attributes) is not sound


def test_a_client_page_with_its_stills_stays_small(sheet, words):
    assert len("".join(client_html(sheet, words))) < 1_500_000


def test_a_clip_that_could_not_be_judged_says_why_and_how_to_film(result, exercise, words):
    heading = heading_of(result, exercise, words, alias="", made_on=None, show_face=False)
    text = Page(unusable_html(unusable_page(result, exercise, words), heading, words)).words
    assert "This clip could not be judged" in text
    assert "was in view from 0:05 to 0:07. The sheet is about" in text
    assert "chest height" in text
    assert "whole repetitions" not in text


def test_what_only_an_operator_can_put_right_is_not_asked_of_a_client(result, exercise, words):
    dark = RecordingProblem(ProblemCode.TOO_DARK, fatal=True)
    upside = RecordingProblem(ProblemCode.ANOTHER_POSITION, form="level")
    both = replace(result, usable=False, problems=(dark, upside))
    told = unusable_page(both, exercise, words).problems
    assert any(words.tell(dark.message) == line for line in told)
    assert not any("check it again" in line for line in told)


def test_each_page_ends_with_whose_it_is_and_of_which_clip(sheet, words):
    for made in (client_html, coach_html):
        foot = "".join(made(sheet, words)).rpartition("<footer>")[2]
        for piece in ("Heron", sheet.heading.clip, "25 November 2026"):
            assert piece in foot


def test_hostile_text_stays_text_everywhere(hostile_case, hostile, table, sheet, words):
    result, exercise = hostile_case
    heading = heading_of(result, exercise, words, alias=hostile, made_on=None, show_face=False)
    made = gather_sheet(result, table, exercise, stills=sheet.stills, heading=heading, words=words)
    pages = pages_of(made, words)
    pages["unusable"] = unusable_html(unusable_page(result, exercise, words), heading, words)
    for html in pages.values():
        page = Page(html)
        assert set(page.tags) <= OURS
        assert not {name for _, name, _ in page.attributes if name.startswith("on")}
        assert " ".join(strip_bidi(hostile).split()) in page.words


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_colours_reach_the_contrast_that_small_text_needs(scheme):
    css = (resources.files("formcheck.sheets.render") / "templates" / "sheet.css").read_text()
    blocks = re.findall(r":root \{(.*?)\}", css, re.DOTALL)
    colours = dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6})", blocks[scheme == "dark"]))
    for ground in ("paper", "card", "iris-wash"):
        for ink in ("ink", "soft", "iris", "rust"):
            assert contrast(colours[ink], colours[ground]) >= 4.5, (ink, ground)
    assert contrast(colours["hatch"], colours["card"]) >= 3.0


def contrast(one, other):
    """Contrast ratio of two colours (WCAG 2.2, success criterion 1.4.3)."""
    lights = sorted((luminance(one), luminance(other)))
    return (lights[1] + 0.05) / (lights[0] + 0.05)


def luminance(colour):
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_a_page_comes_in_pieces_of_one_picture_at_most(sheet, words):
    pieces = list(coach_html(sheet, words))
    assert sum(piece.count("data:image") for piece in pieces) == len(sheet.stills)
    assert max(piece.count("data:image") for piece in pieces) == 1


def test_every_filter_of_a_template_is_known():
    """One in a branch that is seldom taken would only be missed when somebody's sheet needs it."""
    made = environment()
    for name in made.list_templates(extensions=["jinja"]):
        source, _, _ = made.loader.get_source(made, name)
        used = {found.name for found in made.parse(source).find_all(nodes.Filter)}
        assert used <= set(made.filters), name


def test_a_finding_has_one_time_on_the_pages_of_client_and_coach(sheet, words):
    later = {key: replace(still, time_s=still.time_s + 99) for key, still in sheet.stills.items()}
    moved = replace(sheet, stills=later)
    at = sheet.client.cues[0].at
    for html in ("".join(client_html(moved, words)), "".join(coach_html(moved, words))):
        cue = html[html.index('id="next"') :]
        assert re.search(r'class="time">([^<]*)<', cue).group(1) == at


@pytest.mark.parametrize("drawn", ["lines", "ring"])
def test_what_is_drawn_on_a_picture_is_told_in_words_to_client_and_coach(sheet, words, drawn):
    (cue,) = sheet.client.cues[:1]
    stills = sheet.stills | {cue.picture: replace(sheet.stills[cue.picture], drawn=drawn)}
    told = {"lines": "Solid: you. Dashed:", "ring": "Ring: shoulder rise, highest on the way out."}
    for page in (client_html, coach_html):
        html = "".join(page(replace(sheet, stills=stills), words))
        assert [name for name, text in told.items() if text in html] == [drawn]
