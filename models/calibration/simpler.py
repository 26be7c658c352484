"""Simpler correctors beside the network: choosing by view, a linear fit, boosted trees.

They are judged on the same times of the same unseen people. The last two are fitted to the set ``fit``,
which needs scikit-learn, and are left out where that set is not on disk.
"""

from collections.abc import Callable, Iterable
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from formcheck.measures.angles import angle_between_deg, elevation_deg
from formcheck.measures.features import arm_features
from formcheck.measures.posture import posture_from
from formcheck.measures.registry import arm_series
from formcheck.measures.table import SIDES
from models.calibration.dataset import rows_of, track_of
from models.calibration.shards import Clip

Array = NDArray[np.float64]
Predict = Callable[[Array], Array]
MEASURES = ("elbow_flexion", "shoulder_elevation")
GEOMETRY, LINEAR, TREES = "geometry, chosen by view", "linear (ridge)", "boosted trees"
EVERY = 6
"""Neighbours in time hardly differ; every sixth row is enough for these."""


def fitted(data: Path) -> dict[str, dict[str, Predict]]:
    """Method -> measure -> a function from features (n, f) to degrees (n,); none without the set."""
    if not any(data.glob("fit_*.npz")):
        return {}
    # Needed here only: a report without the set is written without.
    from sklearn.ensemble import HistGradientBoostingRegressor  # noqa: PLC0415
    from sklearn.linear_model import Ridge  # noqa: PLC0415

    rows = rows_of(data, "fit")
    features = rows.features[::EVERY].astype(np.float32)
    upper, fore = (rows.truth[::EVERY, k : k + 3].astype(float) for k in (0, 3))
    truth = {
        "elbow_flexion": angle_between_deg(upper, fore),
        "shoulder_elevation": elevation_deg(upper),
    }
    mean, spread = features.mean(axis=0), features.std(axis=0) + 1e-3
    z = np.clip((features - mean) / spread, -6, 6)

    def predictor(model: Ridge | HistGradientBoostingRegressor) -> Predict:
        return lambda x: np.asarray(model.predict(np.clip((x - mean) / spread, -6, 6)))

    linear, trees = {}, {}
    for measure, degrees in truth.items():
        linear[measure] = predictor(Ridge(alpha=100.0).fit(z, degrees))
        boosted = HistGradientBoostingRegressor(
            loss="absolute_error", max_iter=150, learning_rate=0.1, random_state=0
        )
        trees[measure] = predictor(boosted.fit(z, degrees))
    return {LINEAR: linear, TREES: trees}


def simpler_estimates(data: Path, clips: Iterable[Clip]) -> list[dict[str, dict[str, Array]]]:
    """For each arm of each clip: method -> measure -> degrees (n,)."""
    models = fitted(data)
    found = []
    for clip in clips:
        posture = posture_from(track_of(clip))
        for side in SIDES:
            geometric = arm_series(posture, side)
            arm = {GEOMETRY: {m: geometric[m].value for m in MEASURES}}
            values = arm_features(posture, side).values
            known = np.isfinite(values).all(axis=1)
            for method, by_measure in models.items():
                arm[method] = {}
                for measure, predict in by_measure.items():
                    column = np.full(len(values), np.nan)
                    if known.any():
                        column[known] = predict(values[known])
                    arm[method][measure] = column
            found.append(arm)
    return found
