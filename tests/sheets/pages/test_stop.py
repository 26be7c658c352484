"""Answers that give cause for concern come first on every page, and nothing there asks for more."""

from datetime import date

import pypdf
import pytest

from formcheck.records.answers import Answer
from formcheck.sheets.pages.sheet import gather_sheet, heading_of, unusable_page
from formcheck.sheets.render.html import client_html, coach_html, unusable_html
from formcheck.sheets.render.pdf import client_pdf, coach_pdf
from formcheck.words.stop import stop_card, stop_lines
from formcheck.words.words import words_for

DAY = date(2026, 3, 31)
FLAG = Answer(day=DAY, red_flags={"numb-or-weak": True, "trauma": False})
HURT = Answer(day=DAY, pain_during=7, pain_next_morning=5)
MORE = ("Keep going", "That is not yet what was asked for", "That is what was asked for")


@pytest.fixture
def pages(result, table, exercise, words):
    def pages(answer, words=words, most_pain=5):
        options = {"alias": "Heron", "made_on": DAY, "show_face": False}
        heading = heading_of(result, exercise, words, answer=answer, most_pain=most_pain, **options)
        sheet = gather_sheet(result, table, exercise, stills={}, heading=heading, words=words)
        unusable = unusable_html(unusable_page(result, exercise, words), heading, words)
        client, coach = "".join(client_html(sheet, words)), "".join(coach_html(sheet, words))
        return sheet, {"client": client, "coach": coach, "unusable": unusable}

    return pages


@pytest.mark.parametrize("answer", [FLAG, HURT], ids=["red flag", "pain"])
def test_stop_is_the_first_thing_on_every_page(pages, words, answer):
    _, made = pages(answer)
    for name, html in made.items():
        main = html.split("<main>")[1].lstrip()
        assert main.startswith('<section class="stop-card"'), name
        title = "stop.coach_title" if name == "coach" else "stop.title"
        assert words(title) in main.split("</section>")[0], name


@pytest.mark.parametrize("answer", [FLAG, HURT], ids=["red flag", "pain"])
def test_the_client_is_not_asked_for_more_nor_told_to_keep_going(pages, answer):
    sheet, made = pages(answer)
    assert sheet.client.cues == ()
    assert sheet.client.next_none == "Nothing for now. First speak to your clinician."
    for said in MORE:
        assert said not in made["client"]
    without, _ = pages(None)
    assert without.client.cues


def test_the_answer_is_said_as_it_was_given(pages, words):
    assert "Answered yes: New numbness" in pages(FLAG)[1]["client"]
    card = stop_card([HURT], words)
    assert card.reasons == ("Pain during: 7 of 10. With more than 5, stop.",)


def test_the_same_words_stand_in_the_terminal_and_in_a_batch(words):
    card = stop_card([HURT], words)
    assert stop_lines(HURT, words) == [f"{card.title}. {reason}" for reason in card.reasons]
    assert stop_lines(None, words) == []


def test_over_weeks_each_reason_says_of_which_day_it_is(words):
    card = stop_card([HURT, FLAG], words, days=True)
    assert [reason.startswith("31 March 2026. ") for reason in card.reasons] == [True, True]


def test_the_programmes_own_limit_counts(words):
    assert stop_card([HURT], words, most_pain=7) is None
    assert len(stop_card([HURT], words, most_pain=4).reasons) == 2


@pytest.mark.parametrize(
    "answer",
    [None, Answer(day=DAY), Answer(day=DAY, pain_during=5, effort=10, red_flags={"trauma": False})],
)
def test_no_cause_no_card(pages, answer):
    for html in pages(answer)[1].values():
        assert 'class="stop-card"' not in html


def test_in_german_it_comes_first_too(pages):
    _, made = pages(FLAG, words_for("de"))
    assert "Aufhören, und mit Ihrer Fachperson sprechen" in made["client"]


@pytest.mark.slow
def test_paper_says_it_before_everything_else(pages, words, tmp_path):
    sheet, _ = pages(FLAG)
    for name, made in (("client", client_pdf), ("coach", coach_pdf)):
        file = tmp_path / f"{name}.pdf"
        file.write_bytes(made(sheet, words, "a4"))
        text = pypdf.PdfReader(file).pages[0].extract_text()
        stop = text.index(words("stop.title" if name == "client" else "stop.coach_title"))
        first = text.index("What you did" if name == "client" else "At a glance")
        assert stop < first
