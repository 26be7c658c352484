"""Every number that decides a result says what it is and where it comes from."""

import pytest

from tests.constants import KINDS, PACKAGE, Constant, numeric_constants, page, without_kind


def constant(docstring):
    return Constant("package/module.py", 1, "LIMIT_S", "0.5", docstring)


def test_every_numeric_constant_has_a_docstring_that_ends_with_its_kind():
    assert [f"{one.module}:{one.line} {one.name}" for one in without_kind()] == []


def test_the_page_of_constants_is_current():
    assert (PACKAGE / "CONSTANTS.md").read_text("utf-8") == page()


def test_constants_of_each_room_are_found():
    packages = {one.module.split("/")[0] for one in numeric_constants()}
    assert {"clips", "landmarks", "measures", "movements", "checks", "recognise"} <= packages


@pytest.mark.parametrize("kind", [kind for kind in KINDS if kind != "Published"])
def test_a_kind_may_stand_alone_or_say_more(kind):
    assert constant(f"What it is. {kind}.").kind == kind
    more = constant(f"What it is. {kind}: 5 of 6 clips.")
    assert (more.meaning, more.origin) == ("What it is.", f"{kind}: 5 of 6 clips")


def test_what_is_published_names_its_source():
    assert constant("What it is. Published: a standard, 8.3.").kind == "Published"
    assert constant("What it is. Published.").kind == ""


@pytest.mark.parametrize("docstring", ["", "What it is.", "A proposal. What it is.", "Proposal."])
def test_anything_else_is_no_kind(docstring):
    assert constant(docstring).kind == ""
