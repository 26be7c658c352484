"""A manifest says for each clip what it shows, or is refused with everything wrong in it."""

import json
import os
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from formcheck.batch.job import Setup
from formcheck.batch.ledger import key_of
from formcheck.batch.sources.manifest import read_manifest
from formcheck.batch.sources.manifest_file import MOST_TOLD
from formcheck.errors import UsageError
from formcheck.exercises.library import load_exercise

PROGRAMME = """
client = "heron"
phase = "weeks 3 to 5"
[[items]]
exercise = "scaption-raise"
side = "right"
[items.dose]
count = 4
[[items.limits]]
measure = "shoulder_elevation"
never_above = 120
[[items]]
exercise = "elbow-curl"
side = "alternating"
"""


@pytest.fixture
def read(uploads, add_clip):
    add_clip("a.mp4")
    add_clip("monday/b.mp4")

    def read(content, name="visits.csv", exercise=None, side=None):
        (uploads / name).write_text(content, encoding="utf-8")
        return read_manifest(uploads / name, exercise=exercise, side=side)

    return read


@pytest.fixture
def problems(read):
    def problems(content, name="visits.csv", **defaults):
        with pytest.raises(UsageError) as caught:
            read(content, name, **defaults)
        return str(caught.value).splitlines()

    return problems


ROWS = [
    {"clip": "a.mp4", "client": "heron", "exercise": "side-raise", "side": "left"},
    {"clip": "monday/b.mp4", "exercise": "elbow-curl", "date": "2026-03-31"},
]
CSV = (
    "clip,client,exercise,side,date\n"
    "a.mp4,heron,side-raise,left,\n"
    "monday/b.mp4,,elbow-curl,,2026-03-31\n"
)
TOML = "\n".join(
    "[[clips]]\n" + "\n".join(f'{key} = "{value}"' for key, value in row.items()) for row in ROWS
)


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("v.csv", CSV),
        ("v.csv", "\ufeff" + CSV.replace(",", ";").replace("\n", "\r\n")),
        ("v.csv", CSV.replace(",", "\t").replace("client", "Client_Alias") + "\t\t\t\t\n"),
        ("v.toml", TOML),
        ("v.toml", TOML.replace('"2026-03-31"', "2026-03-31")),
        ("v.json", json.dumps(ROWS)),
        ("v.json", json.dumps({"clips": ROWS})),
    ],
    ids=["csv", "csv of Excel", "csv with tabs", "toml", "toml with a date", "json", "json table"],
)
def test_every_form_says_the_same(read, uploads, name, content):
    first, second = read(content, name)
    assert (first.clip, first.shown) == (str(uploads / "a.mp4"), "a.mp4")
    assert (first.client, first.exercise.name, first.side) == ("heron", "side-raise", "left")
    assert (second.shown, second.exercise.name) == ("monday/b.mp4", "elbow-curl")
    assert (second.client, second.side, second.made_on) == ("", None, date(2026, 3, 31))


def test_exercise_and_side_for_all_stand_in_where_a_row_gives_none(read):
    first, second = read(
        "clip,side\na.mp4,both\nmonday/b.mp4,\n", exercise="side-raise", side="left"
    )
    assert (first.exercise.name, first.side) == ("side-raise", "both")
    assert (second.exercise.name, second.side) == ("side-raise", "left")


def test_an_exercise_that_nobody_names_is_left_to_be_recognised(read):
    (only,) = read("clip,client\na.mp4,heron\n")
    assert (only.exercise, only.exercise_name, only.client) == (None, "", "heron")


def test_an_exercise_file_beside_the_manifest_may_be_named(read, uploads):
    (uploads / "mine.toml").write_text('like = "side-raise"\nname = "my-raise"\n')
    assert read("clip,exercise\na.mp4,mine.toml\n")[0].exercise.name == "my-raise"


def test_a_programme_says_exercise_side_dose_limits_and_client(read, uploads):
    (uploads / "heron.toml").write_text(PROGRAMME)
    first, second = read(
        "clip,exercise,programme\n"
        "a.mp4,scaption-raise,heron.toml\n"
        "monday/b.mp4,elbow-curl,heron.toml\n"
    )
    assert (first.client, first.side, first.exercise.dose.count) == ("heron", "right", 4)
    assert first.exercise.checks[-1].importance == "safety"
    assert first.prescription.phase == "weeks 3 to 5"
    assert second.side == "both"


def test_everything_wrong_is_told_at_once_with_row_and_column(problems, uploads, tmp_path):
    (tmp_path / "outside.mp4").touch()
    (uploads / "link.mp4").symlink_to(tmp_path / "outside.mp4")
    (uploads / "heron.toml").write_text(PROGRAMME)
    found = problems(
        "clip,cleint,exercise,side,date,programme\n"
        "c.mp4,,side-raise,rihgt,31.03.2026,\n"
        "../outside.mp4,,side-rise,,,\n"
        f"{tmp_path}/outside.mp4,,,,,\n"
        "link.mp4,,side-raise,,,\n"
        ",,side-raise,,,\n"
        "a.mp4,,side-raise,left,2026-03-31,heron.toml\n"
        "a.mp4,,,,,heron.toml\n"
        "a.mp4,,scaption-raise,left,,heron.toml\n"
        "a.mp4,,side-raise,,,\n"
        "a.mp4,,side-raise,,,\n"
        "a.mp4,,side-raise,,,,,\n"
        "a.mp4,,side-raise,,,none.toml\n"
    )
    start = [line.split(": ")[1] for line in found]
    assert start == [
        "row 1, column cleint",
        "row 2, column clip",
        "row 2, column side",
        "row 2, column date",
        "row 3, column clip",
        "row 3, column exercise",
        "row 4, column clip",
        "row 5, column clip",
        "row 6, column clip",
        "row 7, column exercise",
        "row 9, column side",
        "row 11, column clip",
        "row 12",
        "row 13, column programme",
    ], "\n".join(found)
    text = "\n".join(found)
    for words in (
        'did you mean "client"', '"rihgt" is not left, right or both', "write it as 2026-03-31",
        '"../outside.mp4" leads out', 'did you mean "side-raise"', "in row 10",
        "which has scaption-raise, elbow-curl",
    ):  # fmt: skip
        assert words in text


def test_a_row_that_leaves_its_programme_open_may_be_any_of_it(read, uploads):
    (uploads / "heron.toml").write_text(PROGRAMME)
    (job,) = read("clip,programme\na.mp4,heron.toml\n")
    assert (job.exercise, job.client) == (None, "heron")
    assert [one.exercise.name for one in job.prescriptions] == ["scaption-raise", "elbow-curl"]


def test_a_client_other_than_the_programmes_is_refused(problems, uploads):
    (uploads / "heron.toml").write_text(PROGRAMME)
    found = problems("clip,client,exercise,programme\na.mp4,stork,scaption-raise,heron.toml\n")
    assert found == [
        'visits.csv: row 2, column client: "stork" is not the client of this programme, "heron"'
    ]


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("v.csv", "", "lists no clips"),
        ("v.csv", "file,exercise\na.mp4,side-raise\n", "column clip: is missing"),
        ("v.csv", 'clip\n"a.mp4\n', "cannot be read as CSV"),
        ("v.toml", "clip = ", "cannot be read as TOML"),
        ("v.json", "[[1]]", "one list of tables"),
        ("v.json", '{"a": [], "b": []}', "one list of tables"),
        ("v.json", "[" * 100_000, "cannot be read as JSON"),
        ("v.json", '[{"clip": 7}]', "should be text"),
        ("v.toml", "a." * 30_000 + "a = 1", "a key with too many parts"),
        ("v.csv", f"clip\n{'a' * 300}.mp4\n", "row 2, column clip"),
        ("v.csv", f"clip\nx/{'a' * 300}/b.mp4\n", "row 2, column clip"),
    ],
)
def test_a_file_that_is_no_manifest_is_refused_in_words(problems, name, content, words):
    assert words in "\n".join(problems(content, name))


def test_a_note_in_the_wrong_column_is_quoted_in_part(problems):
    (line,) = problems(f"clip,side\na.mp4,{'left ' * 1000}\n", exercise="side-raise")
    assert line.startswith('visits.csv: row 2, column side: "left left')
    assert len(line) < 300


def test_of_thousands_of_missing_clips_the_first_are_told_and_the_rest_counted(problems):
    lines = problems("clip\n" + "".join(f"lost-{n}.mp4\n" for n in range(5000)))
    assert len(lines) == MOST_TOLD + 1
    assert 'row 2, column clip: "lost-0.mp4" there is no such file' in lines[0]
    assert lines[-1] == "visits.csv: and 4980 more; put these right first"


def test_a_column_that_is_like_none_is_offered_none(problems):
    assert "use clip, client" in problems("clip,video\na.mp4,x\n", exercise="side-raise")[0]


@pytest.mark.parametrize(
    ("meant", "hint"),
    [("A.mp4", 'did you mean "a.mp4"?'), ("nope.mp4", "check its name"), ("a.mov", '"a.mp4"?')],
)
def test_only_a_file_with_a_name_much_like_it_is_offered(problems, uploads, meant, hint):
    (uploads / "o").mkdir()
    (uploads / "o.mp4").touch()
    assert hint in problems(f"clip\n{meant}\n", exercise="side-raise")[0]


def test_a_manifest_that_is_a_pipe_is_not_waited_for(uploads):
    os.mkfifo(uploads / "v.csv")
    with pytest.raises(UsageError, match="not an ordinary file"):
        read_manifest(uploads / "v.csv", exercise="side-raise", side=None)


def test_a_file_in_another_encoding_is_refused(uploads):
    (uploads / "v.csv").write_bytes("clip,client\na.mp4,Jürgen\n".encode("latin-1"))
    with pytest.raises(UsageError, match="is not UTF-8 text; save it"):
        read_manifest(uploads / "v.csv", exercise="side-raise", side=None)


@pytest.mark.slow
@settings(
    deadline=None, max_examples=80, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    content=st.binary(max_size=200)
    | st.lists(st.lists(st.text(max_size=9), max_size=7), max_size=6).map(
        lambda rows: "\n".join(
            ["clip,exercise,side,date", *(",".join(row) for row in rows)]
        ).encode("utf-8", "replace")
    ),
    suffix=st.sampled_from((".csv", ".toml", ".json")),
)
def test_whatever_a_manifest_holds_it_is_read_or_refused(uploads, content, suffix):
    path = uploads / f"any{suffix}"
    path.write_bytes(content)
    refused, jobs = "", []
    try:
        jobs = read_manifest(path, exercise="side-raise", side=None)
    except UsageError as error:
        refused = str(error)
    assert bool(jobs) != refused.startswith(path.name)
    assert all(job.clip.startswith(str(uploads)) for job in jobs)


def test_whatever_is_read_has_an_exercise_as_the_library_has_it(read):
    assert read("clip\na.mp4\n", exercise="side-raise")[0].exercise == load_exercise("side-raise")


def test_a_row_may_name_a_second_clip_of_the_same_set(read, uploads):
    (job,) = read("clip,second clip\na.mp4,monday/b.mp4\n")
    assert job.second == str((uploads / "monday" / "b.mp4").resolve())


def test_a_second_clip_that_is_not_there_is_told(problems):
    (line,) = problems("clip,second clip\na.mp4,monday/c.mp4\n")
    assert "row 2, column second clip" in line


def test_each_client_has_a_height_of_their_own(read):
    first, second = read("clip,stature_cm\na.mp4,158\nmonday/b.mp4,\n")
    setup = Setup(out=Path("results"))
    assert first.settings(setup).stature_m == pytest.approx(1.58)
    assert second.settings(setup) == setup.settings
    assert key_of(first, setup, "") != key_of(replace(first, stature_cm=None), setup, "")


@pytest.mark.parametrize(
    ("cell", "told"),
    [("1.58", "give it in cm: 158"), ("300", "not from 80 to 230"), ("tall", "not a number of cm")],
)
def test_a_height_that_nobody_has_is_refused(problems, cell, told):
    (line,) = problems(f"clip,stature cm\na.mp4,{cell}\n")
    assert line.startswith("visits.csv: row 2, column stature cm: ")
    assert told in line
