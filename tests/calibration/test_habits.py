"""The habit of reading faults as usual is found where there is one, and only there."""

import numpy as np
import pytest

from formcheck.catalogue.views import FilmingView
from models.calibration.habits import as_data, fit, habits
from models.calibration.verdicts import Ruling, reliability


def made(share, *, error=2.0, count=400, faulty=True, measure="elbow_flexion"):
    """Checks of a target of 90 in which that share of a departure is read, 20 being allowed."""
    random = np.random.default_rng(7)
    for departure in random.uniform(-40, 40, count) if faulty else random.uniform(-15, 15, count):
        read = share * departure + random.normal(0, error)
        beyond = (abs(departure) - 20) / 10
        yield Ruling(
            measure, "front", "outside" if beyond > 0.5 else "within", "borderline", measure,
            abs(read - departure), error, 90 + read, 90 + departure, 90.0, beyond,
            0.3, FilmingView.FRONT, has_habit=True,
        )  # fmt: skip


@pytest.mark.parametrize("share", [0.5, 0.7, 1.0])
def test_the_share_of_a_departure_that_is_read_is_found(share):
    assert fit(list(made(share))).slope == pytest.approx(share, abs=0.05)


def test_what_the_stated_uncertainty_lacks_is_added():
    rulings = [*made(1.0, error=6.0)]
    stated = [one.__class__(**{**_fields(one), "sd": 2.0}) for one in rulings]
    assert fit(rulings).extra_sd < 2.5
    assert fit(stated).extra_sd == pytest.approx(np.sqrt(36 - 4), abs=1.0)


def _fields(one):
    return {name: getattr(one, name) for name in one.__slots__}


def test_who_never_did_it_wrong_teaches_nothing():
    assert fit(list(made(0.5, faulty=False))) is None
    assert habits(made(0.5, count=30)) == {}


def test_the_table_names_what_it_was_read_on():
    data = as_data(habits(made(0.5)), "made people")
    assert data["read_on"] == "made people"
    (row,) = data["habits"]
    assert (row["measure"], row["view"], row["checks"]) == ("elbow_flexion", "front", 400)


def test_reliability_lays_what_was_said_beside_what_happened():
    text = "\n".join(reliability(list(made(1.0))))
    assert "20 to 35 %" in text
    assert "30.0 %" in text
