import re
from dataclasses import replace

from formcheck.sheets.pages.coach import coach_page
from formcheck.sheets.render.html import coach_html
from tests.sheets.render.page import Page


def test_the_coach_reads_every_check_of_every_repetition(sheet, words, result):
    page = Page("".join(coach_html(sheet, words)))
    text = page.words
    for judged in result.reps:
        for finding in judged.findings:
            shown = words.measured(finding.value, finding.uncertainty, finding.unit)
            assert shown in text
    assert text.count("the arm is hidden") == 5
    assert "3.4 ± 0.5 cm" in text
    assert "\N{MINUS SIGN}1.4 cm" in text
    assert page.tags["textarea"] == 1
    assert "95 of 100 (89 to 100), from 80 % of the checks" in text


def test_left_and_right_stand_side_by_side_where_both_arms_worked(sheet, result, exercise, words):
    first, second, *rest = result.reps
    reps = (_of_side(first, "left"), _of_side(second, "right"), *rest)
    coach = coach_page(replace(result, reps=reps), exercise, words)
    page = Page("".join(coach_html(replace(sheet, coach=coach), words)))
    assert {"Left side", "Right side"} <= set(page.text)


def _of_side(judged, side):
    findings = tuple(replace(finding, side=side) for finding in judged.findings)
    return replace(judged, rep=replace(judged.rep, side=side), findings=findings)


def test_the_coach_reads_first_which_repetition_to_open_and_why(result, exercise, words):
    coach = coach_page(result, exercise, words)
    assert coach.open_first.text.startswith("Open repetition 3 first: ")
    assert "3.4 ± 0.5 cm, limit at most 2.0 cm" in coach.open_first.text.replace("2 cm", "2.0 cm")
    assert coach.open_first.picture == "rep-right-3"
    fine = replace(result, reps=tuple(one for one in result.reps if one.rep.index in (1, 5, 6)))
    assert coach_page(fine, exercise, words).open_first is None


def test_failed_checks_stand_first_in_the_table_of_checks(result, exercise, words):
    marks = [
        {cell.mark.name for cell in row.cells} for row in coach_page(result, exercise, words).matrix
    ]
    assert "outside" in marks[0]
    assert "borderline" in marks[1]
    assert marks[-1] == {"within"}


def test_printed_pages_have_client_clip_and_date_at_their_head(sheet, words):
    style = re.search(r"@page\{.*\}", "".join(coach_html(sheet, words)))[0]
    told = re.search(r'@top-left\{content:"([^"]*)"', style)[1]
    read = "".join(chr(int(code, 16)) for code in told.split("\\")[1:])
    assert read == "Heron · right side · 25 November 2026 · raise.mp4"
    hostile = replace(sheet, heading=replace(sheet.heading, alias='"}</style><script>'))
    assert "".join(coach_html(hostile, words)).count("</style>") == 1


def test_the_coachs_page_of_a_batch_leads_back_to_all_clips(sheet, words):
    page = Page("".join(coach_html(sheet, words, all_clips="../summary.html")))
    assert "../summary.html" in page.values("href")
    assert "All clips" in page.words
    assert "All clips" not in Page("".join(coach_html(sheet, words))).words


def test_the_coach_reads_that_a_long_hold_was_read_on_the_way_in(sheet, result, exercise, words):
    def told(hold_s):
        reps = tuple(replace(one, rep=replace(one.rep, hold_s=hold_s)) for one in result.reps)
        coach = coach_page(replace(result, reps=reps), exercise, words)
        return (
            "read as it came to rest"
            in Page("".join(coach_html(replace(sheet, coach=coach), words))).words
        )

    assert told(5.0)
    assert not told(1.0)
    assert not told(None)
