"""Where two phones stand, and that they decide no less than each of them alone."""

import pytest

from formcheck.catalogue.views import GENERAL_YAW_DEG
from formcheck.exercises.library import load_exercise
from formcheck.filming.advice import view_advice
from formcheck.filming.pairs import pair_advice

pytestmark = pytest.mark.slow


@pytest.mark.parametrize("name", ["scaption-raise", "external-rotation-at-side"])
def test_two_phones_decide_what_either_does_and_tell_what_neither_does_alone(name):
    exercise = load_exercise(name)
    advice = pair_advice(exercise)
    alone = {one.view: set(one.decided) for one in view_advice(exercise)}
    either = alone[advice.views[0]] | alone[advice.views[1]]
    assert either <= set(advice.decided)
    assert set(advice.gained) == set(advice.decided) - either


def test_the_phones_stand_neither_side_by_side_nor_opposite():
    first, second = pair_advice(load_exercise("scaption-raise")).views
    assert 45 <= abs(GENERAL_YAW_DEG[first] - GENERAL_YAW_DEG[second]) <= 135
