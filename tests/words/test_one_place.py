"""Sentences for people are made in the words package; the packages before it hand on codes."""

import ast
import re
import string
from functools import cache
from pathlib import Path

import pytest

from formcheck.catalogue.codes import TABLES

PACKAGE = Path(__file__).parents[2] / "formcheck"
PACKAGES = (
    "clips",
    "landmarks",
    "measures",
    "views",
    "movements",
    "checks",
    "recognise",
    "filming",
    "pipeline",
)
"""Those that a clip goes through. ``learn`` writes an exercise file, whose words are its own."""
MODULES = [module for package in PACKAGES for module in sorted((PACKAGE / package).rglob("*.py"))]

ERRORS_ONLY = {
    "landmarks/bundles.py": {"_remedy"},
    "landmarks/pose.py": {"_failure"},
    "landmarks/privacy.py": {"<module>"},
}
"""Where else words stand that end in an error, or in what ``doctor`` prints."""


@cache
def tree(module: Path) -> ast.Module:
    return ast.parse(module.read_text("utf-8"))


def prose(module: Path):
    """Function, line and text of each string of three words or more that nobody raises.

    Not counted are docstrings, annotations, what a developer sees (``__repr__``), and the words of a
    function that raises or makes an error, which are that error's.
    """
    root = tree(module)
    functions = [n for n in ast.walk(root) if isinstance(n, ast.FunctionDef)]
    quiet = {id(part) for node in ast.walk(root) for part in unspoken(node)}
    for function in functions:
        raises = any(isinstance(node, ast.Raise) for node in ast.walk(function))
        if raises or function.name.endswith("_error") or function.name == "__repr__":
            quiet |= {id(part) for part in ast.walk(function)}
    for node in ast.walk(root):
        if id(node) in quiet or not (text := text_of(node)):
            continue
        if len(re.findall(r"[^\W\d_]+", text)) >= 3 and " " in text:
            inside = [f.name for f in functions if any(n is node for n in ast.walk(f))]
            yield (inside or ["<module>"])[-1], node.lineno, text


def unspoken(node: ast.AST):
    """The parts of a node that are docstrings, annotations or pieces of an f-string."""
    if isinstance(node, ast.Expr):
        yield node.value
    if isinstance(node, ast.JoinedStr):
        yield from node.values
    for annotation in (getattr(node, "annotation", None), getattr(node, "returns", None)):
        if annotation is not None:
            yield from ast.walk(annotation)


def text_of(node: ast.AST) -> str:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(text_of(part) or "…" for part in node.values)
    return ""


@pytest.mark.parametrize("module", MODULES, ids=lambda m: m.relative_to(PACKAGE).as_posix())
def test_rooms_before_the_words_hold_no_sentences_but_those_of_errors(module):
    allowed = ERRORS_ONLY.get(module.relative_to(PACKAGE).as_posix(), set())
    assert [found for found in prose(module) if found[0] not in allowed] == []


@pytest.mark.parametrize("module", MODULES, ids=lambda m: m.relative_to(PACKAGE).as_posix())
def test_rooms_before_the_words_compare_codes_and_no_sentences(module):
    compared = [
        side.value
        for node in ast.walk(tree(module))
        if isinstance(node, ast.Compare)
        for side in ast.walk(node)
        if isinstance(side, ast.Constant) and isinstance(side.value, str)
    ]
    assert [text for text in compared if " " in text.strip()] == []


CODES = [code for codes in TABLES for code in codes]
HANDING_ON = [
    *MODULES,
    *sorted((PACKAGE / "learn").rglob("*.py")),
    PACKAGE / "catalogue" / "measures.py",
]


@pytest.mark.parametrize("code", CODES, ids=lambda code: f"{TABLES[type(code)]}-{code}")
def test_a_sentence_asks_for_nothing_that_its_rooms_do_not_give(words, code):
    """Every name in its braces, and every form of it, stands in a module that hands on the code."""
    handing_on = [module for module in HANDING_ON if mentions(module, code)]
    assert handing_on, "no package hands on this code"
    given = {"start_s", "end_s"} | set().union(*map(strings_in, handing_on))
    entry = words.catalogue[TABLES[type(code)]][code]
    sentences = entry.values() if isinstance(entry, dict) else [entry]
    assert {name for sentence in sentences for name in braces(sentence)} <= given
    assert not isinstance(entry, dict) or set(entry) <= given


def mentions(module: Path, code) -> bool:
    return any(
        isinstance(node, ast.Attribute)
        and node.attr == code.name
        and isinstance(node.value, ast.Name)
        and node.value.id == type(code).__name__
        for node in ast.walk(tree(module))
    )


def strings_in(module: Path) -> set[str]:
    return {text_of(node) for node in ast.walk(tree(module))}


def braces(sentence: str):
    for _, name, how, _ in string.Formatter().parse(sentence):
        if name:
            yield name
            yield from braces(how or "")
