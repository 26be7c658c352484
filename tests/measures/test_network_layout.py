"""The product and the fit read the networks' outputs by one layout."""

import json

import numpy as np
import pytest

from formcheck.measures import networks
from formcheck.measures.learned import decoded
from formcheck.measures.network_layout import (
    COLUMNS,
    FOREARM,
    LOG_ERRORS,
    OUTPUTS,
    SCALARS,
    UPPER_ARM,
    VERTICAL,
)
from models.calibration import decoding


@pytest.fixture
def raw():
    """Raw outputs of a few hundred arms, and their raw directions."""
    random = np.random.default_rng(4)
    outputs = random.normal(0, 0.4, (400, COLUMNS))
    upper, fore = (random.normal(0, 1, (400, 3)) for _ in range(2))
    return outputs, *(v / np.linalg.norm(v, axis=1, keepdims=True) for v in (upper, fore))


def test_the_fit_reads_the_outputs_as_the_product_does(raw):
    values, upper, fore = decoded(*raw)
    apart = decoding.decoded(np, *raw) - values
    assert np.abs((apart + 180) % 360 - 180).max() < 0.01
    for fitted, own in zip(decoding.corrected(np, *raw), (upper, fore), strict=True):
        np.testing.assert_allclose(fitted, own, atol=1e-9)


def test_truth_is_read_as_the_outputs_are_that_hit_it(raw):
    """Truth written as raw outputs that add nothing to its own directions decodes to itself."""
    outputs, upper, fore = raw
    up = np.array([0.0, 0.0, 1.0])
    truth = np.zeros((len(outputs), LOG_ERRORS.start))
    truth[:, UPPER_ARM], truth[:, FOREARM], truth[:, VERTICAL] = upper, fore, up
    still = np.zeros_like(outputs)
    for name, scalar in SCALARS.items():
        share = 0.01 if name in decoding.PERCENT else 1.0
        truth[:, scalar.column] = share * decoded(*raw)[0][:, OUTPUTS.index(name)]
        still[:, scalar.column] = outputs[:, scalar.column]
    values, *_ = decoded(still, upper, fore)
    np.testing.assert_allclose(decoding.true_values(np, truth), values, atol=0.01)


def test_known_outputs_have_their_known_meaning():
    """A hanging arm with the forearm ahead, and a single scalar of each kind."""
    outputs = np.zeros((1, COLUMNS))
    for name in ("rise", "trunk_lean_forward", "body_line"):
        outputs[0, SCALARS[name].column] = 1.0
    hanging, ahead = np.array([[0.0, 0.0, -1.0]]), np.array([[0.0, 1.0, 0.0]])
    read = dict(zip(OUTPUTS, decoded(outputs, hanging, ahead)[0][0], strict=True))
    assert read["elbow_flexion"] == pytest.approx(90)
    assert read["shoulder_elevation"] == pytest.approx(0)
    assert read["upper_arm_to_vertical"] == pytest.approx(0)
    assert read["axial_rotation"] == pytest.approx(0)
    assert read["rise"] == pytest.approx(3.0)
    assert read["trunk_lean_forward"] == pytest.approx(10.0)
    assert read["body_line"] == pytest.approx(180 - 20 * np.log(1 + np.e))
    assert read["trunk_lean_side"] == 0


def test_every_column_belongs_to_one_output():
    scalars = [scalar.column for scalar in SCALARS.values()]
    spans = [range(*part.indices(COLUMNS)) for part in (UPPER_ARM, FOREARM, VERTICAL, LOG_ERRORS)]
    columns = [*scalars, *(column for span in spans for column in span)]
    assert sorted(columns) == list(range(COLUMNS))


def test_the_weights_are_of_this_layout_and_others_are_refused(monkeypatch):
    assert len(networks.load_ensemble().networks[0].output[1]) == COLUMNS
    load = json.loads
    monkeypatch.setattr(networks.json, "loads", lambda text: {**load(text), "layout": 0})
    with pytest.raises(ValueError, match="these weights are of layout 0"):
        networks.load_ensemble.__wrapped__()
