"""What was said of verdicts is laid beside what happened, in place of what the report had."""

from itertools import cycle, islice

from models.calibration.verdict_reliability import reliability, with_sections
from models.calibration.verdicts import Ruling


def ruling(probability, verdict, beyond):
    truth = "within" if beyond <= 0 else "outside"
    return Ruling("hike", "front", truth, verdict, "hike", 0.1, 0.1, beyond, probability)


def some(count, *rulings):
    return list(islice(cycle(rulings), count))


def test_how_often_it_happened_stands_beside_what_was_said():
    found = some(40, *[ruling(0.25, "borderline", one) for one in (1.0, -1.0, -1.0, -1.0)])
    text = "\n".join(reliability(found))
    assert "| 20 to 35 % | 40 | 25.0 % | 25.0 ± 6.8 % |" in text
    assert "| hike | 40 | 25.0 % | 25.0 ± 6.8 % |" in text


def test_verdicts_within_that_are_truly_outside_are_counted_by_measure_and_view():
    found = [
        *some(9, ruling(0.01, "within", -1.0)),
        ruling(0.09, "within", 0.6),
        ruling(0.09, "within", 0.4),
        ruling(0.99, "outside", -0.6),
        ruling(0.99, "outside", -0.4),
    ]
    assert "| hike, front | 11 | 9 % | 2 | 50 % |" in "\n".join(reliability(found))


def test_a_probability_of_one_is_told_with_the_surest():
    assert "| 95 to 100 % | 3 |" in "\n".join(reliability(some(3, ruling(1.0, "outside", 1.0))))


def test_parts_of_a_report_are_replaced_and_others_kept():
    report = "# Title\n\n## One\n\nold\n\n## Two\n\nstays\n"
    written = with_sections(report, "## One\n\nnew\n\n## Three\n\nadded\n")
    assert written == "# Title\n\n## One\n\nnew\n\n## Two\n\nstays\n\n## Three\n\nadded\n"
