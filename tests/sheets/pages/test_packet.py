"""The packet says what is due, how much, at what pace, within which limits, and how to name the clip."""

from datetime import date

import pytest

from formcheck.catalogue.red_flags import RedFlag
from formcheck.clip_name import read_clip_name
from formcheck.exercises.library import library_names, load_exercise
from formcheck.exercises.programme import load_programme
from formcheck.sheets.pages.pacing import pace_of
from formcheck.sheets.pages.packet import dose_line, packet_page
from formcheck.words.words import words_for
from tests.sheets.packets import programme_in


@pytest.fixture
def page(tmp_path, words):
    return packet_page(programme_in(tmp_path), words)


def test_only_what_is_due_is_to_be_done(page, tmp_path, words):
    assert [item.name for item in page.items] == [
        "belly-press",
        "bent-elbow-circle",
        "scaption-raise",
    ]
    assert page.later == ("Bear-hug press and hold: after 2 more sessions",)
    after = packet_page(programme_in(tmp_path), words, sessions_done=2)
    assert len(after.items) == 4
    assert after.later == ()


def test_dose_limit_note_and_side_are_the_clients_own(page):
    press, _, lift = page.items
    assert press.dose == "3 holds, each held for 8 s. On 5 days a week."
    assert press.side == "right arm"
    assert lift.dose == "10 repetitions. 2 sets. Rest 60 s between sets."
    assert lift.limits[0].startswith("Arm height: never above 90°.")
    assert lift.note == "Only as high as the shelf in your hall."


def test_what_is_to_be_held_or_pulled_is_said_with_the_dose(tmp_path, words):
    (tmp_path / "heron.toml").write_text(
        'client = "heron"\nphase = "loaded"\n[[items]]\nexercise = "row"\nside = "right"\n'
        'load = "red band"\n'
    )
    (row,) = packet_page(load_programme(tmp_path / "heron.toml"), words).items
    assert row.dose.endswith(" With: red band.")


def test_the_pace_is_the_prescribed_one(page, words):
    press, circle, lift = (item.parts[0].pace for item in page.items)
    assert press.line == "Ease on 2 s · Hold 8 s · Ease off 2 s"
    assert lift.line == "Out 3 s · Stay 1 s · Back 3 s"
    assert circle.ways == ("forward", "backward")
    assert circle.times == "4 times forward, then 4 times backward. 2 sets"


@pytest.mark.parametrize("name", library_names())
def test_every_exercise_has_a_pace_as_slow_as_it_asks_for(name, words):
    exercise = load_exercise(name)
    for part in exercise.parts or (None,):
        pace = pace_of(exercise, part, words)
        total = sum(step.seconds for step in pace.steps)
        for check in (part or exercise).checks:
            if check.measure == "duration" and check.low:
                assert total >= check.low
            if check.measure == "hold" and check.low:
                held = [step.seconds for step in pace.steps if step.kind == "hold"]
                assert held[0] >= check.low
    assert dose_line(exercise, words).endswith(".")


@pytest.mark.parametrize(("language", "pattern"), [("en", "YYYY-MM-DD"), ("de", "JJJJ-MM-TT")])
def test_the_name_of_a_clip_has_letters_where_its_day_goes(tmp_path, language, pattern):
    page = packet_page(programme_in(tmp_path), words_for(language))
    for item in page.items:
        assert item.clip_name == f"{item.clip_stem}_{pattern}"
        name = read_clip_name(item.clip_name, exercises=library_names(), today=date(2026, 4, 1))
        assert (name.exercise.value, name.day.value) == (item.name, "")


def test_a_batch_reads_the_name_that_the_packet_gives(page):
    for item in page.items:
        dated = f"{item.clip_stem}_2026-03-31"
        name = read_clip_name(dated, exercises=library_names(), today=date(2026, 4, 1))
        assert (name.client.value, name.exercise.value) == ("heron", item.name)
        assert name.side.value == item.side_key
        assert name.unsure == ()


def test_every_red_flag_is_asked_in_plain_words_in_both_languages(page):
    assert [flag for flag, _ in page.questions] == list(RedFlag)
    german = words_for("de")
    for flag, text in page.questions:
        assert text
        assert german(f"red_flag.{flag}") != text


def test_the_page_says_when_to_stop_and_whom_to_ask(page):
    told = " ".join(page.stop)
    assert "Stop on sharp or rising pain" in told
    assert "licensed clinician" in told
