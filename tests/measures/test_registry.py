"""Catalogue and registry name the same measures."""

import pytest

from formcheck.catalogue.measures import MEASURES, Scope, names_of
from formcheck.measures import registry
from formcheck.measures.table import SIDES, column_name, measure_of


@pytest.mark.parametrize(
    ("scope", "functions"),
    [
        (Scope.ARM, registry.ARM),
        (Scope.GIRDLE, registry.GIRDLE),
        (Scope.TRUNK, registry.TRUNK),
    ],
)
def test_every_measure_of_the_catalogue_has_a_function_and_no_other(scope, functions):
    assert set(functions) == set(names_of(scope))


@pytest.mark.parametrize("row", [row for row in MEASURES.values() if row.over_time])
def test_a_column_tells_its_measure(row):
    for side in SIDES if row.sided else (None,):
        assert measure_of(column_name(row.name, side)) is row
