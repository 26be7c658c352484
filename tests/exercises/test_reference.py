"""The pages for authors say what the program does."""

import re
from importlib.resources import files
from pathlib import Path
from typing import get_args

import pytest

from formcheck.catalogue.codes import Importance
from formcheck.exercises.library import library_names, load_exercise
from formcheck.exercises.programme import load_programme
from formcheck.exercises.programme_file import Entry
from formcheck.exercises.reference import reference_markdown
from formcheck.exercises.schema import Dose, Exercise, Part, Phase, Statistic
from formcheck.exercises.vocabulary import WORDS

PAGES = files("formcheck.exercises")
MADE = reference_markdown()
GUIDE = (PAGES / "GUIDE.md").read_text(encoding="utf-8")
PIECES = re.findall(r"```toml\n(?!# \S+\.toml\n)(.*?)```", GUIDE, flags=re.DOTALL)
EXAMPLES = re.findall(r"```toml\n# (\S+\.toml)\n(.*?)```", GUIDE, flags=re.DOTALL)


def test_the_reference_is_current():
    page = (PAGES / "REFERENCE.md").read_text(encoding="utf-8")
    assert page == MADE


@pytest.mark.parametrize("model", [Exercise, Part, Dose])
def test_every_key_is_explained(model):
    for name, field in model.model_fields.items():
        assert field.description, name
        assert f"| `{name}` |" in MADE


def test_the_vocabulary_is_that_of_the_schema():
    for key, choices in (("statistic", Statistic), ("phase", Phase)):
        assert tuple(WORDS[key]) == get_args(choices)
    assert tuple(WORDS["importance"]) == tuple(Importance)


def test_the_guide_has_an_example_of_each_kind_of_file():
    assert [name for name, _ in EXAMPLES] == [
        "reach-up.toml",
        "low-raise.toml",
        "two-presses.toml",
        "press-and-circle.toml",
        "programme.toml",
        "phases.toml",
    ]


@pytest.mark.parametrize(("name", "text"), EXAMPLES)
def test_the_examples_of_the_guide_are_valid(name: str, text: str, tmp_path: Path):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    if name in ("programme.toml", "phases.toml"):
        assert load_programme(path).prescriptions
    else:
        assert load_exercise(path).name == path.stem


@pytest.mark.parametrize("piece", PIECES)
def test_the_pieces_of_a_file_in_the_guide_are_valid_in_its_first_example(piece, tmp_path):
    name, text = EXAMPLES[0]
    path = tmp_path / name
    path.write_text(f"{text}\n{piece}" if piece.startswith("[") else f"{piece}\n{text}", "utf-8")
    assert load_exercise(path).name == path.stem


def test_the_guide_has_every_key_of_what_comes_before_a_phase():
    table = GUIDE.partition("### Phases")[2].partition("\n## ")[0]
    assert re.findall(r"^\| `(\w+)` \|", table, flags=re.MULTILINE) == list(Entry.model_fields)


def test_the_guide_names_only_keys_measures_and_exercises_that_exist():
    known = set(re.findall(r"`(\w+)`", MADE))
    named = {word for word in re.findall(r"`([a-z]+(?:_[a-z]+)+)`", GUIDE)}
    assert named <= known, named - known
    exercises = {word for word in re.findall(r"`([a-z]+(?:-[a-z]+)+)`", GUIDE)}
    assert exercises <= set(library_names()), exercises - set(library_names())
