"""Every check of the library has one short title, which all pages, tables and files use."""

import pytest

from formcheck.exercises.library import library_names, load_exercise
from formcheck.words.labels import check_title
from formcheck.words.words import words_for


@pytest.mark.parametrize("name", library_names())
def test_each_check_of_the_library_has_a_short_title_of_its_own(name):
    exercise = load_exercise(name)
    for group in exercise.parts or (exercise,):
        titles = [check.title for check in group.checks]
        assert None not in titles
        assert len(set(titles)) == len(titles)
        assert all(len(title.split()) <= 4 and title[0].isupper() for title in titles)


def test_a_check_without_a_title_is_called_by_how_it_is_read():
    check = load_exercise("push-up-plus").checks[0]
    words = words_for("en")
    assert check_title(check, words) == "Hip sag"
    own = check.model_copy(update={"title": None})
    assert check_title(own, words) == "Hips below the body's straight line, highest"
