"""How uncertain each measure is from each side, as observed on rendered people."""

import json
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from formcheck.catalogue.measures import MEASURES
from formcheck.measures.table import MeasureTable, Series, column_name

_NEARBY_DEG = 14.0
"""A view stands for directions up to this far to either side of it. A proposal."""


def at_least_observed(table: MeasureTable, yaw_deg: float, elevation_deg: float) -> MeasureTable:
    """The table with each uncertainty raised to what was observed, where that is larger.

    ``yaw_deg`` is how far the right side is turned toward the camera, ``elevation_deg`` where the
    right arm is. Observed is the median standard uncertainty of people who stand or sit, by
    ``models/calibration/report.py``; a measure that was not observed keeps its own.
    """
    observed = _observed()
    band = _bin_of(observed["elevation_from_deg"], elevation_deg)
    places = [
        _bin_of(observed["yaw_from_deg"], (yaw_deg + way + 180) % 360 - 180)
        for way in (-_NEARBY_DEG, _NEARBY_DEG)
    ]
    columns = dict(table.columns)
    for measure in MEASURES.keys() & observed.keys():
        least = [sd for place in places if (sd := observed[measure][place][band]) is not None]
        name = column_name(measure, "right" if MEASURES[measure].sided else None)
        if least:
            own = columns[name]
            columns[name] = Series(own.value, np.maximum(own.sd, np.mean(least)))
    return replace(table, columns=columns)


def _bin_of(edges: list[float], value: float) -> int:
    """The bin that a value lies in, each beginning at one of the edges."""
    return max(int(np.searchsorted(edges, value, side="right")) - 1, 0)


@cache
def _observed() -> Mapping[str, Any]:
    text = (files("formcheck.measures") / "data" / "view_advice.json").read_text("utf-8")
    content: dict[str, Any] = json.loads(text)
    return content
