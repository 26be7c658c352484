import re
from dataclasses import replace
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from formcheck.catalogue.codes import Verdict
from formcheck.measures.table import Series, column_name
from formcheck.sheets.pages.traces import charts
from formcheck.sheets.render.chart import NARROW, WIDE, draw_chart
from formcheck.sheets.render.html import environment
from formcheck.words.words import words_for

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def specs(result, table, exercise):
    return {spec.key: spec for spec in charts(result, table, exercise, words_for("en"))}


def draw(spec, width=WIDE, **options):
    return ET.fromstring(draw_chart(environment(), spec, words_for("en"), width, **options))


def of_class(svg, name):
    return [e for e in svg.iter() if name in (e.get("class") or "").split()]


def test_what_is_outside_comes_first_then_doubt_and_each_checked_measure_once(specs):
    assert list(specs) == [
        "hike-right-cm",
        "elbow-flexion-right-deg",
        "shoulder-elevation-right-deg",
    ]


def test_every_repetition_is_marked_with_its_number_and_partial_ones_apart(specs):
    svg = draw(specs["shoulder-elevation-right-deg"])
    assert [e.text for e in of_class(svg, "number")] == ["1", "2", "3", "4", "5", "(6)"]
    assert len(of_class(svg, "partial")) == 1


@pytest.mark.parametrize(("count", "marked"), [(40, range(1, 41)), (138, range(10, 139, 10))])
def test_of_more_repetitions_than_there_is_room_for_every_so_many_are_marked(specs, count, marked):
    spec = specs["shoulder-elevation-right-deg"]
    brackets = tuple(replace(spec.brackets[0], number=k) for k in range(1, count + 1))
    svg = draw(replace(spec, brackets=brackets))
    assert [e.text for e in of_class(svg, "number")] == [str(number) for number in marked]


def test_a_gap_is_a_break_in_the_line(specs):
    (line,) = of_class(draw(specs["elbow-flexion-right-deg"]), "line")
    assert line.get("d").count("M") == 2


def test_what_is_allowed_is_an_area_where_it_is_judged(specs):
    spec = specs["shoulder-elevation-right-deg"]
    svg = draw(spec)
    bands = of_class(svg, "band")
    assert len(bands) == 5
    assert all(band.get("fill").startswith("url(#h-") for band in bands)
    assert len(of_class(svg, "limit")) == 2


def test_what_is_outside_is_ringed_at_its_moment_with_its_value(specs):
    svg = draw(specs["hike-right-cm"])
    assert len(of_class(svg, "miss")) == 2
    assert all(text.text.endswith(" cm") for text in of_class(svg, "read"))


def test_the_value_at_a_ring_is_the_one_in_the_table(result, table, exercise):
    judged = result.reps[0]
    height = next(f for f in judged.findings if f.id == "elevation-top")
    told = replace(height, value=115.0, verdict=Verdict.OUTSIDE, probability_outside=0.99)
    perhaps = replace(told, value=113.0, verdict=Verdict.BORDERLINE, probability_outside=0.8)
    fine = replace(told, value=101.0, verdict=Verdict.BORDERLINE, probability_outside=0.2)
    one = replace(result, reps=(replace(judged, findings=(told, perhaps, fine)),))
    made = charts(one, table, exercise, words_for("en"))
    svg = draw(next(one for one in made if one.key == "shoulder-elevation-right-deg"))
    assert [text.text for text in of_class(svg, "read")] == ["115°", "113°"]


def with_limits(result, *limits):
    """The first repetition alone, its arm's height checked against each of these limits."""
    judged = result.reps[0]
    height = next(f for f in judged.findings if f.id == "elevation-top")
    findings = tuple(
        replace(height, low=low, high=high, safety_limit=never) for low, high, never in limits
    )
    return replace(result, reps=(replace(judged, findings=findings),))


@pytest.mark.parametrize(
    ("limits", "areas"),
    [
        ([(None, 110.0, False), (70.0, None, False)], [(70.0, 110.0)]),
        ([(80.0, 100.0, False), (None, 90.0, True)], [(80.0, 90.0)]),
        ([(125.0, None, False), (None, 20.0, False)], [(125.0, None), (None, 20.0)]),
    ],
)
def test_of_limits_that_hold_at_once_only_what_all_allow_is_an_area(
    result, table, exercise, limits, areas
):
    made = charts(with_limits(result, *limits), table, exercise, words_for("en"))
    spec = next(one for one in made if one.key == "shoulder-elevation-right-deg")
    assert [(band.low, band.high) for band in spec.bands] == areas


def test_a_limit_of_safety_is_a_line_with_its_words(result, table, exercise):
    one = with_limits(result, (80.0, 100.0, False), (None, 90.0, True))
    made = charts(one, table, exercise, words_for("en"))
    svg = draw(next(one for one in made if one.key == "shoulder-elevation-right-deg"))
    assert len(of_class(svg, "safety")) == 1
    assert [text.text for text in of_class(svg, "never")] == ["never above 90°"]


def test_a_side_that_was_never_seen_has_no_chart(result, table, exercise):
    key = column_name("hike", "right")
    gone = Series(np.full(len(table.time_s), np.nan), table.columns[key].sd)
    unseen = replace(table, columns={**table.columns, key: gone})
    keys = [spec.key for spec in charts(result, unseen, exercise, words_for("en"))]
    assert "hike-right-cm" not in keys


def test_the_chart_says_in_words_what_it_shows(specs):
    svg = draw(specs["shoulder-elevation-right-deg"])
    title, desc = svg.find(f"{SVG}title"), svg.find(f"{SVG}desc")
    assert svg.get("aria-labelledby").split() == [title.get("id"), desc.get("id")]
    assert title.text == "Arm height, right side over time"
    assert "6 repetitions marked" in desc.text
    assert "80 to 100°" in desc.text


@pytest.mark.parametrize("width", [NARROW, WIDE])
def test_everything_is_drawn_inside_the_picture(specs, width):
    for spec in specs.values():
        svg = draw(spec, width)
        _, _, w, h = map(float, svg.get("viewBox").split())
        for path in (*of_class(svg, "line"), *of_class(svg, "edge")):
            numbers = [float(n) for n in re.findall(r"-?\d+\.?\d*", path.get("d"))]
            assert all(0 <= x <= w for x in numbers[::2])
            assert all(0 <= y <= h for y in numbers[1::2])


@pytest.mark.parametrize("width", [NARROW, WIDE])
def test_a_time_at_the_very_end_of_the_axis_is_not_cut(specs, width):
    spec = specs["hike-right-cm"]
    svg = draw(replace(spec, time_s=np.linspace(0, 30, len(spec.time_s))), width)
    (last,) = [tick for tick in of_class(svg, "tick") if tick.text == "0:30"]
    assert float(last.get("x")) + 15 <= width


def test_a_measure_that_was_never_known_gives_an_empty_chart_that_says_so(specs):
    spec = specs["hike-right-cm"]
    unknown = np.full_like(spec.value, np.nan)
    svg = draw(replace(spec, value=unknown, sd=unknown, other=None, misses=()))
    assert of_class(svg, "line") == []
    assert "could not be measured" in svg.find(f"{SVG}desc").text


def test_only_a_chart_for_print_carries_its_own_styles(specs):
    spec = specs["hike-right-cm"]
    assert draw(spec).find(f"{SVG}style") is None
    assert draw(spec, standalone=True).find(f"{SVG}style") is not None


def test_long_clips_do_not_make_long_files(specs):
    spec = specs["shoulder-elevation-right-deg"]
    time_s = np.linspace(0, 600, 18_000)
    wave = 50 + 40 * np.sin(time_s)
    long = replace(spec, time_s=time_s, value=wave, sd=np.full_like(wave, 3.0), other=None)
    assert len(draw_chart(environment(), long, words_for("en"), NARROW)) < 60_000


def test_the_chart_of_a_fault_comes_first_and_marks_it_also_where_it_is_a_change(
    result, table, exercise
):
    checks = tuple(
        c.model_copy(update={"relative": True}) if c.id == "shoulder-down" else c
        for c in exercise.checks
    )
    first, *_ = charts(
        result, table, exercise.model_copy(update={"checks": checks}), words_for("en")
    )
    assert first.key == "hike-right-cm"
    assert first.prominent
    assert [value for _, value in first.misses] == [3.4, 3.4]
    assert first.bands == ()
