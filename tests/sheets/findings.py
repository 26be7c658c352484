"""One finding to change at will: an arm raised to 91 of 80 to 100 degrees."""

from formcheck.catalogue.codes import Verdict
from formcheck.checks.result import Finding


def finding() -> Finding:
    return Finding(
        "elevation-top", "shoulder_elevation", "mean", "top", 91.0, 4.0, "deg", 80.0, 100.0,
        9.0, Verdict.WITHIN, 2.6, "Raise your arm to shoulder height, no further.", None,
        probability_outside=0.02,
    )  # fmt: skip
