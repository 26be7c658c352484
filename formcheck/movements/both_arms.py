"""Whether the two arms work together."""

import numpy as np

from formcheck.measures.table import SIDES, MeasureTable
from formcheck.movements.signals import combined, usual_range

MIN_CORRELATION = 0.7
"""Two arms work together if their movements correlate by more than this. A proposal."""
MIN_RANGE_RATIO = 0.5
"""... and the smaller range is more than this share of the larger. A proposal."""
MIN_SEEN_SHARE = 0.5
"""Nothing is said where both arms are seen for less of the clip than this. A proposal."""


def move_together(table: MeasureTable, measure: str) -> bool | None:
    """True if a measure moves alike in both arms; None if they are not seen together enough."""
    left, right = (combined(table, measure, (side,)).value for side in SIDES)
    both = np.isfinite(left) & np.isfinite(right)
    if both.mean() < MIN_SEEN_SHARE:
        return None
    smaller, larger = sorted((usual_range(left), usual_range(right)))
    if smaller <= MIN_RANGE_RATIO * larger:
        return False
    return bool(np.corrcoef(left[both], right[both])[0, 1] > MIN_CORRELATION)
