"""How much a measure changes within a repetition: the spread of its readings, and how sure it is.

Much of the error of a reading is common to both ends of a change, so that a change is known better
than either end. But a joint that ought to keep still is read as keeping stiller than it does, as the
networks expect it to. So the spread of an angle is read through a curve, true against read; and the
larger it reads, the less sure it is.
"""

import numpy as np

from formcheck.catalogue.arrays import FloatArray
from formcheck.movements.signals import usual_range

ELBOW_SPREAD_DEG = (
    (0.0, 10.0, 20.0, 30.0, 60.0, 120.0),
    (0.0, 5.0, 18.0, 34.0, 62.0, 120.0),
    (7.0, 12.0, 14.0, 15.0, 15.0, 15.0),
)
"""Spread of the bend of the elbow as read, as it rather is, and its standard uncertainty. Of 175 arms in
clips of 3-5 s, 71 of them in circles: read under 6, truly 2 in the median and off by 7 in the root mean
square; 6-15, truly 5-9 and off by 12; 15-25, anything from 2 to 37; over 70, as itself. Fitted by eye.
Read on rendered people."""
ELEVATION_SPREAD_DEG = (
    (0.0, 3.0, 9.0, 60.0, 120.0),
    (0.0, 3.0, 18.0, 60.0, 120.0),
    (4.5, 5.0, 7.5, 7.5, 7.5),
)
"""The same of elevation, of arms that should stay at the side: of 67 arms in clips of 3-5 s, read under
6, truly 3 in the median and off by 4.5; 6-10, truly 4 to 26. Beyond, no more is known than that 60-110
were read as themselves of two bodies. Fitted by eye. Read on rendered people."""

_CURVES = {"elbow_flexion": ELBOW_SPREAD_DEG, "shoulder_elevation": ELEVATION_SPREAD_DEG}


def spread(measure: str, values: FloatArray, change_sd: float) -> tuple[float, float]:
    """Spread of the known values (n,) without their extremes, and its standard uncertainty.

    ``change_sd`` is the uncertainty of a change of this measure, where none was read for its spread.
    """
    read = usual_range(values)
    if measure not in _CURVES:
        return read, change_sd
    seen, true, sd = _CURVES[measure]
    # Beyond the curve a change is read as it is.
    value = np.interp(read, seen, true) if read < seen[-1] else read
    return float(value), float(np.interp(read, seen, sd))
