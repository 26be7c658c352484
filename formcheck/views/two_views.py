"""What two joined cameras tell together, before it is fused with what each tells alone."""

from collections.abc import Mapping
from dataclasses import dataclass

from formcheck.catalogue.arrays import FloatArray
from formcheck.views.joined import Joined
from formcheck.views.space import Space


@dataclass(frozen=True, slots=True, eq=False)
class TwoViews:
    """What both cameras tell together at the times of ``space``: values and uncertainties of the
    adjustment by column, (n,) each.
    """

    joined: Joined
    space: Space
    values: Mapping[str, FloatArray]
    sds: Mapping[str, FloatArray]
