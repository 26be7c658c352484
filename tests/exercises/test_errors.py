"""Everything that can be wrong with an exercise file is found and explained in one line each."""

import os
import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from formcheck.errors import ExerciseError
from formcheck.exercises.library import load_exercise, validate_file


def lines_of(path) -> list[str]:
    with pytest.raises(ExerciseError) as caught:
        load_exercise(path)
    return str(caught.value).splitlines()


def test_a_good_file_loads(write):
    assert load_exercise(write()).name == "reach-up"


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        (
            "summary =",
            "sumary =",
            'sumary = "Reach up high.": unknown key; did you mean "summary"?',
        ),
        (
            "tolerance = 10",
            "tolerence = 10",
            'checks "height".tolerence = 10: unknown key; did you',
        ),
        (
            "title =",
            'recognise = [{ measure = "elbow_flexion", low = 400 }]\ntitle =',
            "recognise 1.low = 400: must be from",
        ),
        ("title =", "count = 3\ntitle =", "count = 3: unknown key here; it belongs in [dose]"),
        ("count = 8", 'count = 8\narms = "one"', "it belongs at the top of the file"),
        (
            "count = 8",
            "count = 8\nzzz = 1",
            "dose.zzz = 1: unknown key; known here: count, per_dir",
        ),
        ('title = "Reach up"\n', "", "title: is missing; give text in quotes"),
        (
            "[dose]\ncount = 8\nsource",
            "[dose]\nsource",
            "dose.count: is missing; give a whole number",
        ),
        ("count = 8", "count = 0", "dose.count = 0: must be a whole number from 1 to 100"),
        ("count = 8", "count = 8.5", "dose.count = 8.5: must be a whole number from 1 to 100"),
        ("count = 8", 'count = "8"', 'dose.count = "8": must be a whole number'),
        ("min_range = 30", "min_range = -3", "primary.min_range = -3: must be a number above 0"),
        ("tolerance = 10", "tolerance = true", '"height".tolerance = true: must be a number of at'),
        ("low = 90", "low = nan", 'checks "height".low = nan: must be a number that is neither'),
        ("low = 90", "low = 300", 'checks "height".low = 300: must be from 0 to 180 for shoulder_'),
        (
            '"standing"',
            '"stnding"',
            'position = "stnding": did you mean "standing"? must be one of',
        ),
        ('["front"]', '["frnt"]', 'filming.best 1 = "frnt": did you mean "front"? must be one of'),
        ('["front"]', "[]", "filming.best = an empty list: must be a list in [ ] of at least 1"),
        ('["front"]', '"front"', 'filming.best = "front": must be a list in [ ] of at least 1'),
        ('"reach-up"', '"Reach up"', "must be lower-case words joined by hyphens"),
        ("low = 90\n", "", 'checks "height": give low, high or both'),
        ("low = 90", "low = 90\nhigh = 80", "low 90 is above high 80"),
        ('id = "hike"', 'id = "height"', "check id used twice: height"),
        (
            'measure = "hike"',
            'measure = "hold"',
            'hold is one value already; its statistic is "value"',
        ),
        ('position = "standing"', 'position = "half-kneeling"', 'did you mean "kneeling"?'),
        ("count = 8", "count = 8\nhold_s = 5", 'dose.hold_s = 5: only for movement = "hold", this'),
        ('"rep"', '"hold"', "dose.hold_s: is missing"),
        ("count = 8", "count = 8\nper_direction = true", 'only for movement = "circle"'),
    ],
)
def test_a_slip_is_named_with_its_place_and_remedy(write, old, new, expected):
    path = write(old=old, new=new)
    lines = lines_of(path)
    assert len(lines) == 1
    assert lines[0].startswith(f"{path}: ")
    assert expected in lines[0]


def test_a_name_of_the_library_is_taken(write):
    path = write(old='"reach-up"', new='"belly-press"')
    assert lines_of(path) == [
        f'{path}: name = "belly-press": the library has this exercise; choose another name'
    ]


def test_what_must_never_happen_does_not_make_the_exercise(write):
    path = write(old='importance = "range"', new='importance = "safety"\nessential = true')
    (line,) = lines_of(path)
    assert line.startswith(f'{path}: checks "height": essential is what must be done')


def test_a_table_in_place_of_a_value_is_explained(write, good):
    path = write(
        re.sub(r"\[dose\].*?\n\n", "", good, flags=re.S), old="title", new="dose = 3\ntitle"
    )
    assert lines_of(path) == [f"{path}: dose = 3: must be a table"]


def test_a_measure_of_the_whole_repetition_must_suit_the_movement(write):
    path = write(
        old='measure = "hike"\nstatistic = "max"', new='measure = "roundness"\nstatistic = "value"'
    )
    assert 'only for movement = "circle", this one is "rep"' in lines_of(path)[0]


def test_a_measure_of_the_trunk_has_no_other_side(write):
    path = write(old='measure = "hike"', new='side = "other"\nmeasure = "trunk_turn"')
    assert lines_of(path) == [
        f'{path}: checks "hike".side = "other": "trunk_turn" does not belong to an arm'
    ]


def test_a_measure_of_the_whole_repetition_is_never_relative(write):
    path = write(
        old='measure = "hike"\nstatistic = "max"',
        new='measure = "duration"\nrelative = true\nstatistic = "value"',
    )
    assert "relative = true" in lines_of(path)[0]


def test_all_problems_come_at_once(write, good):
    text = good.replace("count = 8", "count = 0").replace('"standing"', '"floating"')
    assert len(lines_of(write(text, old="tolerance = 0.5", new="tolerance = -1"))) == 3


def test_a_syntax_error_names_its_line(write):
    assert "(at line 4, column" in lines_of(write(old='"Reach up high."', new="Reach up high."))[0]


def test_a_file_that_stops_in_the_middle_is_one_line(write, good):
    for cut in range(1, len(good), 97):
        for line in lines_of(write(good[:cut])):
            assert "mine.toml" in line


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (b"", "is empty"),
        (b" \n\n", "is empty"),
        (b"\x00\x01\x02\xff", "is not UTF-8 text"),
        ("name = 'x'".encode("utf-16"), "is not UTF-8 text"),
        (b"# " + b"x" * 300_000, "is larger than 256 kB"),
        (b"a = " + b"[" * 5000, "nested too deeply"),
        (b"a = " + b"1" * 9000, "a number too long"),
        (b"\n" + b"a." * 30_000 + b"a = 1", "a key with too many parts (at line 2)"),
        (b"low = 1,5", "not valid TOML"),
    ],
)
def test_a_file_that_is_no_exercise_file_says_so(tmp_path, data, expected):
    path = tmp_path / "odd.toml"
    path.write_bytes(data)
    assert expected in lines_of(path)[0]


def test_a_byte_order_mark_and_foreign_line_ends_do_no_harm(tmp_path, good):
    path = tmp_path / "windows.toml"
    path.write_bytes(b"\xef\xbb\xbf" + good.replace("\n", "\r\n").encode())
    assert load_exercise(path).name == "reach-up"


def test_a_missing_file_and_a_folder_say_so(tmp_path):
    assert "there is no such file" in lines_of(tmp_path / "none.toml")[0]
    folder = tmp_path / "folder.toml"
    folder.mkdir()
    assert "this is a folder" in lines_of(folder)[0]


@pytest.mark.parametrize("sign", [r"\u202e", r"\u001b[2J", "\u202e", "\u2066"])
def test_nothing_in_a_file_steers_a_terminal_or_turns_a_line_around(write, sign):
    taken = load_exercise(write(old="Reach up high", new=f"Reach {sign}up high"))
    refused = lines_of(write(old='"standing"', new=f'"st{sign}an"'))
    for text in (taken.summary, *refused):
        assert text.isprintable()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes here")
def test_a_pipe_and_an_endless_device_are_not_waited_for(tmp_path, good):
    pipe, endless = tmp_path / "pipe.toml", tmp_path / "endless.toml"
    os.mkfifo(pipe)
    endless.symlink_to("/dev/zero")
    assert "not an ordinary file" in lines_of(pipe)[0]
    assert "not an ordinary file" in lines_of(endless)[0]
    like = tmp_path / "like.toml"
    like.write_text('like = "pipe.toml"\n' + good)
    assert "not an ordinary file" in "".join(lines_of(like))


def test_a_file_that_may_not_be_read_says_so(write, monkeypatch):
    path = write()

    def refuse(_, **options):
        raise PermissionError

    monkeypatch.setattr(type(path), "stat", refuse)
    assert "may not be read" in lines_of(path)[0]


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("scaption", 'did you mean "scaption-raise"?'),
        ("Belly Press", 'did you mean "belly-press"?'),
        ("elbow_curl", 'did you mean "elbow-curl"?'),
        ("qqq", "'formcheck exercises' lists them all"),
        ("files/mine", "must end in .toml"),
        ("", "there is no exercise called"),
    ],
)
def test_an_unknown_name_gets_the_nearest_one(name, expected):
    lines = lines_of(name)
    assert len(lines) == 1
    assert expected in lines[0]


def test_validate_reads_a_file_of_any_ending(write):
    assert validate_file(write(name="mine.txt")).name == "reach-up"


VALUES = st.recursive(
    st.sampled_from(["1", "-2.5", "true", '"front"', '""', "1979-05-27", "inf", '"elbow_flexion"']),
    lambda inner: (
        st.lists(inner, max_size=2).map(lambda v: f"[{', '.join(v)}]")
        | inner.map(lambda v: f"{{ id = {v} }}")
    ),
    max_leaves=4,
)


@pytest.mark.slow
@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_any_value_anywhere_is_taken_or_explained(write, good, data):
    lines = good.splitlines()
    at = data.draw(st.sampled_from([i for i, line in enumerate(lines) if " = " in line]))
    lines[at] = lines[at].split(" = ")[0] + " = " + data.draw(VALUES)
    path = write("\n".join(lines))
    try:
        load_exercise(path)
    except ExerciseError as error:
        explained = str(error).splitlines()
    else:
        explained = [f"{path}: taken"]
    assert all(line.startswith(f"{path}: ") for line in explained)
