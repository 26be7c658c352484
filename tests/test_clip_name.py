"""Names of clips: what is given is read back, what people make of it is read with care."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formcheck.clip_name import ClipName, Reading, clip_name, read_clip_name, slug
from formcheck.exercises.library import library_names

TODAY = date(2026, 4, 2)


def read(stem, clients=()):
    return read_clip_name(stem, exercises=library_names(), clients=clients, today=TODAY)


def values(name):
    return tuple(name.of(part).value for part in ("client", "exercise", "side", "day"))


@given(
    client=st.text(st.characters(categories=("Ll", "Nd"), max_codepoint=0x24F), min_size=1),
    exercise=st.sampled_from(library_names()),
    side=st.sampled_from(["left", "right", "both"]),
    day=st.dates(date(2025, 6, 1), TODAY),
)
def test_a_name_that_was_given_is_read_back(client, exercise, side, day):
    name = read(f"{clip_name(client, exercise, side, day)}_2")
    assert values(name) == (slug(client), exercise, side, day.isoformat())
    assert name.unsure == ()


def test_a_client_who_is_not_known_is_sure_in_a_whole_name_only():
    assert read("heron_belly-press_right_2026-03-31").unsure == ()
    assert read("heron belly press right 2026-03-31").unsure == ("client",)


@pytest.mark.parametrize(
    "stem",
    [
        "heron_belly-press_right_2026-03-31",
        "Heron Belly Press RIGHT 20260331",
        "2026-03-31 heron-bellypress-right (2)",
        "right_belly-press_heron_31.3.2026",
        "VID heron belly press rechts 31-03-2026",
    ],
)
def test_what_people_make_of_it_says_the_same(stem):
    name = read(stem, clients=["heron", "stork"])
    assert values(name) == ("heron", "belly-press", "right", "2026-03-31")
    assert name.unsure == ()


def test_the_longest_exercise_that_fits_is_meant():
    name = read("heron_scaption-raise-dumbbell_left_2026-03-31")
    assert name.exercise == Reading("scaption-raise-dumbbell")


@pytest.mark.parametrize(
    ("stem", "part", "value"),
    [
        ("heron_bely-press_right_2026-03-31", "exercise", "belly-press"),
        ("heron_belly-press_left-right_2026-03-31", "side", "both"),
        ("heron_belly-press_right_3-4-2026", "day", "2026-04-03"),
        ("heron belly-press right 2027-03-31", "day", "2027-03-31"),
        ("heron_belly-press_row_right_2026-03-31", "exercise", "belly-press"),
    ],
)
def test_what_is_doubtful_is_to_be_asked_about_and_not_used(stem, part, value):
    name = read(stem, clients=["heron"])
    assert part in name.unsure
    assert name.of(part).value == value
    assert name.sure(part) == ""


@pytest.mark.parametrize(
    "stem", ["IMG_4711", "push-up-plus_side_sag", "scaption-raise_front_hike", "left", "2026-03-31"]
)
def test_other_names_are_left_alone(stem):
    assert read(stem) is None


def test_the_number_and_mark_of_a_camera_are_no_client():
    name = read("IMG_20260331_belly-press")
    assert name == ClipName(Reading(), Reading("belly-press"), Reading(), Reading("2026-03-31"))


@given(st.text())
def test_any_name_is_read_without_an_error(stem):
    read(stem, clients=["heron"])


def test_an_alias_becomes_safe_for_a_name():
    assert slug("Grey Heron / 2") == "grey-heron-2"
    assert slug("//") == "clip"
