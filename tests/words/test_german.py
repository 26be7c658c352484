"""The client's page in a second language: complete, marked as a draft, honest about what is not in it."""

import json
import string
import tomllib
from importlib import resources

import pytest

from formcheck.catalogue.codes import CueCode, Message, ProblemCode
from formcheck.catalogue.problems import RecordingProblem
from formcheck.exercises.library import load_exercise
from formcheck.words.words import words_for

GERMAN = (
    "push-up-plus",
    "belly-press",
    "scaption-raise",
    "front-raise",
    "overhead-press",
    "bent-elbow-circle",
    "lift-off",
)
"""Exercises whose own words are translated."""


@pytest.fixture(scope="module")
def german():
    return words_for("de")


def entries(table, prefix=()):
    for key, entry in table.items():
        if isinstance(entry, dict):
            yield from entries(entry, (*prefix, key))
        else:
            yield (*prefix, key), entry


def names(sentence):
    return {name for _, name, _, _ in string.Formatter().parse(sentence) if name}


@pytest.fixture(scope="module")
def own_entries():
    """What the German catalogue has itself."""
    text = (resources.files("formcheck.words") / "data" / "strings.de.toml").read_text("utf-8")
    return dict(entries(tomllib.loads(text)))


def test_every_german_sentence_is_of_an_english_one_and_fills_in_the_same(own_entries, words):
    english = dict(entries(words.catalogue))
    for key, sentence in own_entries.items():
        if key[0] != "own_words":
            assert key in english, key
            assert names(sentence) == names(english[key]), key


def test_the_tables_that_a_clients_page_needs_are_german_throughout(own_entries, words):
    tables = (
        *("kind", "side", "direction_of", "verdict", "verdict_long", "measure", "list", "problem"),
        *("subject", "arms_leave", "filmed_from", "cue", "limits", "client", "caution", "unusable"),
        *("chart", "player", "way", "plan"),
    )
    needed = {key for key, _ in entries(words.catalogue) if key[0] in tables}
    assert needed - own_entries.keys() == set()


def test_what_is_missing_is_said_in_english(german):
    assert german("coach.overview") == "At a glance"
    assert german("client.did") == "Was Sie gemacht haben"


def test_in_switzerland_there_is_no_sharp_s(german):
    swiss = words_for("de-CH")
    assert "ß" in german("caution.refer")
    assert not any("ß" in sentence for _, sentence in entries(swiss.catalogue))
    assert swiss.number(1.5, 1) == "1.5"
    assert german.number(1.5, 1) == "1,5"


def test_a_message_is_told_in_german(german):
    gone = RecordingProblem(
        ProblemCode.ARMS_OUT_OF_VIEW, 2.0, 61.0, params={"arms": "both", "times": 2}, form="often"
    )
    assert german.tell(gone.message).startswith(
        "Ihre Arme verlassen von 0:02 bis 1:01 2 Mal das Bild."
    )
    few = Message(CueCode.FEW_CIRCLES, {"asked": 10, "done": 8, "direction": "forward"})
    assert german.tell(few) == (
        "Machen Sie alle 10 Kreisbewegungen vorwärts, bevor Sie weitermachen; hier waren es 8."
    )


@pytest.mark.parametrize("name", GERMAN)
def test_these_exercises_speak_german(german, name):
    exercise = load_exercise(name)
    said = [exercise.title, exercise.filming.advice, *exercise.cautions]
    for check in exercise.checks:
        said += [check.cue, check.praise]
        said += filter(None, [check.title, check.cue_above, check.cue_below])
    for one in said:
        assert not german.is_foreign(one), one
        assert german.tell(one) != one


def test_what_an_exercise_says_in_english_only_is_known_as_foreign(german, words):
    title = load_exercise("side-raise").title
    assert german.is_foreign(title)
    assert german.tell(title) == title
    assert not words.is_foreign(title)


def test_a_translation_is_of_words_that_the_library_has(own_entries):
    library = json.dumps([load_exercise(name).model_dump() for name in GERMAN])
    for (table, *rest), _ in own_entries.items():
        if table == "own_words":
            assert json.dumps(rest[0]) in library, rest[0]
