"""A programme of one client for tests of the packet."""

from formcheck.exercises.programme import load_programme

PROGRAMME = """
client = "heron"
phase = "weeks 3 to 5"

[[items]]
exercise = "belly-press"
side = "right"
[items.dose]
hold_s = 8
days_a_week = 5

[[items]]
exercise = "bent-elbow-circle"
side = "right"

[[items]]
exercise = "bear-hug-press"
side = "right"
after_sessions = 2

[[items]]
exercise = "scaption-raise"
side = "left"
note = "Only as high as the shelf in your hall."
[items.dose]
tempo_s = [3, 1, 3]
rest_s = 60
[[items.checks]]
id = "height"
low = 75
[[items.limits]]
measure = "shoulder_elevation"
never_above = 90
"""


def programme_in(folder):
    path = folder / "heron.toml"
    path.write_text(PROGRAMME)
    return load_programme(path)
