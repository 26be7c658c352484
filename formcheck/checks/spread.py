"""How much a measure changes within a repetition: the spread of its readings, and how sure it is.

Much of the error of a reading is common to both ends of a change, so that a change is known better
than either end. But a joint that ought to keep still is read as keeping stiller than it does, as the
networks expect it to. So the spread of an angle is read through a curve, true against read.
"""

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.movements.signals import usual_range

ELBOW_READ_DEG, ELBOW_TRUE_DEG = (0.0, 10.0, 30.0, 60.0, 120.0), (0.0, 4.0, 58.0, 70.0, 120.0)
"""Spread of the bend of the elbow: 1-2 degrees read as 3-17 (5-8 in most exercises, 10 in circles),
60 as 22-37, 65-130 as themselves. Read on rendered people."""
ELEVATION_READ_DEG, ELEVATION_TRUE_DEG = (0.0, 3.0, 9.0, 60.0, 120.0), (0.0, 2.0, 25.0, 60.0, 120.0)
"""Spread of elevation: 1-2 degrees read as 1-4, 26 as 8-10, 60-110 as themselves.
Read on rendered people."""
ELBOW_SPREAD_SD_DEG, ELEVATION_SPREAD_SD_DEG = 10.0, 6.0
"""Of a spread so read: root mean square of read less true in 36 circles, and in 50 repetitions.
Read on rendered people."""

_CURVES = {
    "elbow_flexion": (ELBOW_READ_DEG, ELBOW_TRUE_DEG, ELBOW_SPREAD_SD_DEG),
    "shoulder_elevation": (ELEVATION_READ_DEG, ELEVATION_TRUE_DEG, ELEVATION_SPREAD_SD_DEG),
}


def spread(measure: str, values: FloatArray, change_sd: float) -> tuple[float, float]:
    """Spread of the known values (n,) without their extremes, and its standard uncertainty.

    ``change_sd`` is the uncertainty of a change of this measure, where none was read for its spread.
    """
    read = usual_range(values)
    if measure not in _CURVES:
        return read, change_sd
    seen, true, sd = _CURVES[measure]
    # Beyond the curve a change is read as it is.
    return float(np.interp(read, seen, true) if read < seen[-1] else read), sd
