import io
import unicodedata
from dataclasses import replace

import pytest
from pypdf import PdfReader

from formcheck.sheets.pdf import PRINTED_IN_FULL, client_pdf, coach_pdf, printed_in_full
from formcheck.sheets.sheet import gather_sheet
from formcheck.sheets.words import tidy


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
        "for Heron", "25 November 2026", "whole repetitions", "Asked for: 8 repetitions",
        "Let your shoulder stay low", "At 0:10 in the clip", "Stop if pain turns sharp",
        "Arm direction, side to front", "Not finished",
    ):  # fmt: skip
        assert plain(piece) in text


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


def test_the_coach_gets_every_check_with_its_uncertainty_and_a_place_to_sign(sheet, words):
    text = text_of(coach_pdf(sheet, words, "a4"))
    for piece in ("3.4 ± 0.5 cm", "91 ± 4°", "at most 2.0 cm", "Coach's note", "Name and date",
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


def test_a_note_prints_on_the_coachs_pages_only(sheet, words, all_hostile):
    noted = replace(sheet, note=("Two cushions next time.", "", *all_hostile))
    assert plain("Two cushions next time.") in text_of(coach_pdf(noted, words, "a4"))
    assert plain("Two cushions") not in text_of(client_pdf(noted, words, "a4"))


def test_hostile_text_prints_as_text(all_hostile, result, exercise, table, sheet, words):
    summary = replace(result.summary, not_measured=all_hostile, praise=all_hostile[4])
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
            expected = plain(tidy(hostile))
            assert not expected.isascii() or expected[:60] in text
        assert plain("right side 25 November 2026") in text


def test_nothing_of_the_machine_is_in_the_file(sheet, words):
    pdf = client_pdf(sheet, words, "a4")
    data = read(pdf).metadata
    assert data.author == "formcheck"
    assert set(data) <= {"/Title", "/Author", "/Creator", "/CreationDate", "/ModDate"}
    assert b"/tmp" not in pdf


def test_of_hundreds_the_coach_gets_those_in_print_that_need_a_look(
    result, exercise, table, sheet, words
):
    def long(count):
        reps = tuple(
            replace(one, rep=replace(one.rep, index=k))
            for k in range(1, count + 1)
            for one in [result.reps[5 if k % 10 == 0 else 0]]
        )
        whole = replace(result, reps=reps)
        return gather_sheet(
            whole, table, exercise, stills=sheet.stills, heading=sheet.heading, words=words
        )

    many = PRINTED_IN_FULL + 100
    marks = {rep.number: rep.mark.name for rep in long(many).coach.reps}
    printed = printed_in_full(long(many).coach.reps)
    assert len(printed) == PRINTED_IN_FULL
    assert {number for number, mark in marks.items() if mark == "outside"} <= printed
    pdf = coach_pdf(long(many), words, "a4")
    assert plain(f"{PRINTED_IN_FULL} of {many} are told of one by one") in text_of(pdf)
    usual = coach_pdf(long(PRINTED_IN_FULL), words, "a4")
    assert plain("told of one by one") not in text_of(usual)
    assert len(read(pdf).pages) <= len(read(usual).pages) + 1
