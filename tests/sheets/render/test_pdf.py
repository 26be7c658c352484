import io
import re
import unicodedata
from dataclasses import replace

import numpy as np
import pytest
from pypdf import PdfReader

from formcheck.sheets.pages.long_sets import COACH_REPS, LONG_SET, evenly_spaced
from formcheck.sheets.pages.sheet import gather_sheet
from formcheck.sheets.render.pdf import client_pdf, coach_pdf
from formcheck.text import strip_bidi


def read(pdf):
    return PdfReader(io.BytesIO(pdf))


def text_of(pdf):
    return plain(" ".join(page.extract_text() for page in read(pdf).pages))


def plain(text):
    """Letters and digits only: how a PDF breaks lines and places marks says nothing here."""
    return "".join(c for c in unicodedata.normalize("NFKC", text) if c.isalnum())


def named(sheet, alias, words):
    whom = replace(sheet.heading, alias=alias)
    return replace(sheet, heading=whom)


def test_the_client_gets_one_page_with_all_that_the_web_page_says(sheet, words):
    pdf = client_pdf(sheet, words, "a4")
    assert len(read(pdf).pages) == 1
    text = text_of(pdf)
    for piece in (
        "for Heron", "25 November 2026", "5 of 8 done", "Asked for: 8 repetitions",
        "Let your shoulder stay low", "At 0:10 in the clip", "Stop on sharp or rising pain",
        "Arm direction", "Not finished",
    ):  # fmt: skip
        assert plain(piece) in text


def sizes_of(page):
    """The size in points of every piece of text on a page, charts included."""
    found = []

    def note(text, to_page, to_line, _, size):
        if text.strip():
            found.append(size * np.hypot(*to_page[2:4]) * np.hypot(*to_line[2:4]))

    page.extract_text(visitor_text=note)
    return found


@pytest.mark.slow
def test_nothing_on_paper_is_smaller_than_ten_points(sheet, words):
    for made in (client_pdf, coach_pdf):
        for page in read(made(sheet, words, "a4")).pages:
            assert min(sizes_of(page)) > 9.95


@pytest.mark.slow
def test_the_coachs_first_page_holds_all_that_decides_and_the_rest_is_an_appendix(sheet, words):
    first, second, *_ = (page.extract_text() for page in read(coach_pdf(sheet, words, "a4")).pages)
    told = (
        words("coach.overview"),
        sheet.coach.matrix_title,
        *(row.label for row in sheet.coach.matrix),
    )
    for text in (*told, words("coach.note")):
        assert plain(text) in plain(first)
    assert plain(second).startswith(plain(sheet.client.title))  # its running head
    assert plain(words("coach.appendix")) in plain(second)


def test_every_page_on_paper_says_whose_it_is_and_of_which_clip(sheet, words):
    for made in (client_pdf, coach_pdf):
        for page in read(made(sheet, words, "a4")).pages:
            text = plain(page.extract_text())
            for whose in ("for Heron", sheet.heading.clip, "25 November 2026"):
                assert plain(whose) in text


def test_a_set_in_which_nothing_was_counted_can_be_printed(sheet, words):
    none = replace(sheet.coach, reps=(), matrix=(), matrix_reps=(), tempo=(), open_first=None)
    empty = replace(sheet, coach=none, printed_reps=frozenset())
    assert plain(words("coach.overview")) in text_of(coach_pdf(empty, words, "a4"))


@pytest.mark.slow
def test_many_repetitions_still_fit_on_the_clients_one_page(result, exercise, table, sheet, words):
    first = result.reps[0]
    many = tuple(replace(first, rep=replace(first.rep, index=i)) for i in range(1, 41))
    long = gather_sheet(
        replace(result, reps=many),
        table,
        exercise,
        stills=sheet.stills,
        heading=sheet.heading,
        words=words,
    )
    assert len(read(client_pdf(long, words, "us-letter")).pages) == 1


@pytest.mark.slow
def test_the_coach_gets_every_check_with_its_uncertainty_and_a_place_to_sign(sheet, words):
    text = text_of(coach_pdf(sheet, words, "a4"))
    for piece in ("3.4 ± 0.5 cm", "91 ± 4°", "at most 2 cm", "Coach's note", "Name and date",
                  "Repetition 6", "0:10.0"):  # fmt: skip
        assert plain(piece) in text


@pytest.mark.parametrize(("paper", "size"), [("a4", (595.3, 841.9)), ("us-letter", (612.0, 792.0))])
def test_both_papers_have_their_true_size(sheet, words, paper, size):
    for made in (client_pdf, coach_pdf):
        box = read(made(sheet, words, paper)).pages[0].mediabox
        assert (float(box.width), float(box.height)) == pytest.approx(size, abs=0.5)


@pytest.mark.parametrize(
    "name",
    [
        "Zoë Żółć Đặng Åström",
        "Ωμέγα Παπαδόπουλος",
        "Дмитрий Щербаков",
        "山田太郎",
        "李小龍",
        "김철수",
    ],
)
def test_names_print_in_their_own_script_from_the_fonts_shipped(name, sheet, words):
    pdf = client_pdf(named(sheet, name, words), words, "a4")
    assert plain(name) in text_of(pdf)
    fonts = {
        str(font.get_object()["/BaseFont"])
        for page in read(pdf).pages
        for font in page["/Resources"]["/Font"].values()
    }
    assert all("Noto" in font or "Droid" in font for font in fonts)


@pytest.mark.slow
def test_a_note_prints_on_the_coachs_pages_only(sheet, words, all_hostile):
    noted = replace(sheet, note=("Two cushions next time.", "", *all_hostile))
    assert plain("Two cushions next time.") in text_of(coach_pdf(noted, words, "a4"))
    assert plain("Two cushions") not in text_of(client_pdf(noted, words, "a4"))


@pytest.mark.slow
def test_hostile_text_prints_as_text(all_hostile, result, exercise, table, sheet, words):
    summary = replace(result.summary, look_yourself=all_hostile, praise=all_hostile[4])
    changed = exercise.model_copy(update={"title": all_hostile[4], "cautions": all_hostile})
    made = gather_sheet(
        replace(result, summary=summary),
        table,
        changed,
        stills=sheet.stills,
        heading=replace(sheet.heading, alias=all_hostile[6]),
        words=words,
    )
    for pdf in (client_pdf(made, words, "a4"), coach_pdf(made, words, "a4")):
        text = text_of(pdf)
        for hostile in all_hostile:
            expected = plain(strip_bidi(hostile))
            assert not expected.isascii() or expected[:60] in text
        assert plain("right side 25 November 2026") in text


def test_nothing_of_the_machine_is_in_the_file(sheet, words):
    pdf = client_pdf(sheet, words, "a4")
    data = read(pdf).metadata
    assert data.author == "formcheck"
    assert set(data) <= {"/Title", "/Author", "/Creator", "/CreationDate", "/ModDate"}
    assert b"/tmp" not in pdf


@pytest.fixture
def made(result, exercise, table, sheet, words):
    """Sheets of any number of repetitions: every tenth outside, and the thirteenth most so."""

    def rep(k):
        one = result.reps[0]
        first, *others = (replace(f, verdict="within", margin=5.0) for f in one.findings)
        if k % 10 == 0 or k == 13:
            first = replace(first, verdict="outside", margin=-99.0 if k == 13 else -1.0)
        return replace(
            one,
            rep=replace(one.rep, index=k),
            score=60 if k % 10 == 0 else 90,
            findings=(first, *others),
        )

    def of(count):
        whole = replace(result, reps=tuple(rep(k) for k in range(1, count + 1)))
        return gather_sheet(
            whole, table, exercise, stills=sheet.stills, heading=sheet.heading, words=words
        )

    return of


def in_full(text, words):
    """Numbers of the repetitions that a coach's page tells of one by one."""
    marks = "|".join(plain(words(f"verdict.{name}")) for name in ("within", "outside"))
    return {int(number) for number in re.findall(rf"Repetition(\d+)(?:{marks})", text)}


@pytest.mark.slow
def test_of_a_long_set_the_coach_gets_every_mark_in_print_and_in_full_what_most_needs_a_look(
    made, words
):
    pdf = coach_pdf(made(200), words, "a4")
    text = text_of(pdf)
    full = in_full(text, words)
    assert len(full) == COACH_REPS
    assert full <= {13, *range(10, 201, 10)}
    assert 13 in full
    assert plain("All 200 are marked above, in order. The 16 that most need a look follow") in text
    assert len(read(pdf).pages) < len(read(coach_pdf(made(LONG_SET), words, "a4")).pages)


@pytest.mark.slow
def test_of_a_long_set_each_check_is_counted_over_the_whole(made, words):
    text = text_of(coach_pdf(made(200), words, "a4"))
    first = made(200).coach.matrix[0]
    outside = sum(cell.mark.name == "outside" for cell in first.cells)
    assert plain("Each check over the whole set") in text
    assert plain(f"{outside} {words('verdict.outside')}") in text


@pytest.mark.slow
def test_the_client_of_a_long_set_gets_some_from_first_to_last_and_how_many_of_each_mark(
    made, words
):
    pdf = client_pdf(made(200), words, "a4")
    text = text_of(pdf)
    assert len(read(pdf).pages) == 1
    assert plain("10 of your 200 repetitions, from the first to the last") in text
    assert plain(f"21 {words('verdict.outside')}") in text
    shown = evenly_spaced(made(200).client.reps)
    assert [rep.number for rep in shown][::9] == [1, 200]


@pytest.mark.slow
def test_a_set_that_is_not_long_is_printed_whole(made, words):
    sheet = made(LONG_SET)
    coach, client = (text_of(write(sheet, words, "a4")) for write in (coach_pdf, client_pdf))
    assert in_full(coach, words) == set(range(1, LONG_SET + 1))
    assert plain("follow in detail") not in coach
    assert plain("from the first to the last") not in client
