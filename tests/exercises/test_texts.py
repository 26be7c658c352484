"""What clients read is short and plain."""

import re

import pytest

from formcheck.exercises.library import library_names, load_exercise
from formcheck.exercises.schema import Check, Exercise

JARGON = re.compile(
    r"\b(abduct|adduct|anterior|concentric|coronal|diagnos|distal|dorsal|dys|eccentric|extension"
    r"|external|flexion|frontal|girdle|glenohumeral|humer|infraspinatus|internal|isometric"
    r"|kinemat|landmark|lateral|medial|pathology|pectoral|posterior|prone|protract|proximal"
    r"|retract|rom\b|rotation|sagittal|scap|serratus|subscapularis|supine|thora|torsion|trapez"
    r"|valgus)",
    re.IGNORECASE,
)
MEAN_WORDS = 12
MOST_WORDS = 20


def client_texts(exercise: Exercise) -> list[str]:
    texts = [exercise.title, exercise.summary, exercise.start_position, exercise.filming.advice]
    texts += [*exercise.cautions, *exercise.look_yourself]
    texts += [*exercise.can_judge, *exercise.cannot_judge]
    for part in exercise.parts:
        texts += [part.title, part.missed]
    for check in exercise.checks:
        texts += [*cues(check), check.praise]
    return texts


def cues(check: Check) -> list[str]:
    return [cue for cue in (check.cue, check.cue_above, check.cue_below) if cue is not None]


def sentences(text: str) -> list[list[str]]:
    parts = re.split(r"(?<=[.?!:])\s+", text.strip())
    return [re.findall(r"[\w'-]+", part) for part in parts]


@pytest.mark.parametrize("name", library_names())
def test_sentences_are_short(name):
    lengths = [len(s) for text in client_texts(load_exercise(name)) for s in sentences(text)]
    assert max(lengths) <= MOST_WORDS
    assert sum(lengths) / len(lengths) <= MEAN_WORDS


@pytest.mark.parametrize("name", library_names())
def test_no_jargon_reaches_the_client(name):
    for text in client_texts(load_exercise(name)):
        assert not JARGON.search(text), text


@pytest.mark.parametrize("name", library_names())
def test_cues_are_one_or_two_sentences_addressed_to_the_client(name):
    for check in load_exercise(name).checks:
        for cue in cues(check):
            assert len(sentences(cue)) <= 3
            assert re.search(r"\byou(r)?\b", f"{cue} {check.praise}", re.IGNORECASE)
            assert cue.endswith(".")
        assert check.praise.endswith(".")


@pytest.mark.parametrize("name", library_names())
def test_a_check_with_two_ends_says_which_way(name):
    for _, check in load_exercise(name).all_checks:
        if check.low is not None and check.high is not None:
            assert check.cue_above, check.id
            assert check.cue_below, check.id
            assert check.cue_above != check.cue_below, check.id


@pytest.mark.parametrize("name", library_names())
def test_a_lean_is_told_with_its_side(name):
    for _, check in load_exercise(name).all_checks:
        if check.measure == "trunk_lean_side":
            assert check.cue_for(90).endswith("to your left.")
            assert check.cue_for(-90).endswith("to your right.")


@pytest.mark.parametrize("name", library_names())
def test_texts_have_no_stray_spaces_or_line_breaks(name):
    for text in client_texts(load_exercise(name)):
        assert text == " ".join(text.split())


@pytest.mark.parametrize("name", library_names())
def test_nothing_is_promised_or_diagnosed(name):
    for text in client_texts(load_exercise(name)):
        assert not re.search(r"\b(cure|heal|treat|injur|impinge|tear)", text.lower()), text
