"""Pages, help and guides claim no more than PURPOSE.md: formcheck measures, counts, compares, refers."""

import re
import tomllib
from pathlib import Path

import pytest
import typer

from formcheck.cli.app import app
from formcheck.exercises.library import library_names, load_exercise

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "formcheck"
CLAIM = re.compile(
    r"\b(diagnos\w*|treat(?:s|ed|ing|ments?)?|treatment|cure[sd]?|curing|heal(?:s|ed|ing)?"
    r"|rehabilitat\w*|prevents? (?:an? )?(?:injur\w*|pain)|injury prevention|patients?|symptoms?"
    r"|medical\w*|clinical(?:ly)?|therap(?:y|ies|eutic\w*)|recover(?:y|s|ed)? (?:from|after|of)"
    r"|recovery|guarantee\w*|restores? (?:function|movement|strength)|all-clear|risk of injury"
    r"|monitor(?:s|ing)? (?:of|your|a|the) (?:condition|disease|injury|recovery)"
    r"|behandel\w*|behandlung\w*|heilt|heilung\w*|diagnos\w*|patient\w*|reha|rehabilit\w*|garant\w*)\b",
    re.IGNORECASE,
)
DENIED = re.compile(
    r"\b(no|not|nothing|never|neither|nor|cannot|without|nicht|keine?[nrms]?|nie)\b", re.IGNORECASE
)
REFERRED = re.compile(
    r"\b(get medical help|medical help|clinician|surgeon|therapist|ärztliche|chirurgin"
    r"|put it to a medical purpose|for a medical purpose|regulation \(eu\)|give[sn]? it that purpose"
    r"|on medical devices|treated differently|is a medical device if)",
    re.IGNORECASE,
)
"""Words that pass the reader on to a person or to a law, and so claim nothing."""


def sentences(text):
    """Sentences, items and cells of a text."""
    plain = re.sub(r"(?<![.:|])\n(?!\n|[-|#])", " ", text)
    for part in re.split(r"(?<=[.!?:;])\s+|\n+|\|", plain):
        if part.strip():
            yield part.strip()


def claims(text):
    """Sentences with a word that claims more, unless they deny it or refer to somebody."""
    return [
        sentence
        for sentence in sentences(text)
        if CLAIM.search(sentence) and not DENIED.search(sentence) and not REFERRED.search(sentence)
    ]


@pytest.mark.parametrize(
    "claim",
    [
        "It treats shoulder pain.",
        "For patients after surgery.",
        "Made for shoulder rehabilitation.",
        "Clinically proven.",
        "This prevents injuries, guaranteed.",
        "Ihre Behandlung läuft gut.",
        "Speeds your recovery.",
    ],
)
def test_a_claim_is_found(claim):
    assert claims(f"It measures angles. {claim} It counts.") == [claim]


@pytest.mark.parametrize(
    "sentence",
    [
        "It does not diagnose.",
        "Get medical help after a fall.",
        "Set the tempo.",
        "Keine Diagnose.",
    ],
)
def test_a_denial_a_referral_and_plain_words_are_no_claim(sentence):
    assert claims(sentence) == []


PAGES = sorted([ROOT / "README.md", ROOT / "CHANGELOG.md", *PACKAGE.rglob("*.md")])


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.relative_to(ROOT).as_posix())
def test_guides_claim_no_more(page):
    assert claims(page.read_text("utf-8")) == []


@pytest.mark.parametrize("language", ["en", "de"])
def test_what_pages_say_claims_no_more(language):
    catalogue = tomllib.loads((PACKAGE / f"words/data/strings.{language}.toml").read_text("utf-8"))
    assert [one for text in strings_of(catalogue) for one in claims(text)] == []


def strings_of(value):
    """Every string in nested tables, names of keys in own_words left out."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for inner in value.values():
            yield from strings_of(inner)


def test_help_claims_no_more():
    found = []
    for command in commands(typer.main.get_command(app)):
        told = [command.help, command.short_help, *(getattr(p, "help", "") for p in command.params)]
        found += [one for text in told if text for one in claims(text)]
    assert found == []


def commands(command):
    yield command
    for inner in getattr(command, "commands", {}).values():
        yield from commands(inner)


@pytest.mark.parametrize("name", library_names())
def test_exercises_claim_no_more(name):
    content = load_exercise(name).model_dump(exclude={"source"})
    assert [one for text in strings_of(content) for one in claims(text)] == []


@pytest.mark.parametrize(
    "template", sorted((PACKAGE / "sheets/render/templates").glob("*")), ids=lambda path: path.name
)
def test_templates_claim_no_more(template):
    assert claims(template.read_text("utf-8")) == []


def test_the_purpose_names_its_sources_and_is_linked_from_the_readme():
    purpose = (PACKAGE / "PURPOSE.md").read_text("utf-8")
    assert "2017/745" in purpose
    assert "Article 2(1)" in purpose
    assert "General Wellness" in purpose
    assert "(formcheck/PURPOSE.md)" in (ROOT / "README.md").read_text("utf-8")
