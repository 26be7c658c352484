"""The people that training and judging clips show: body shapes by a fixed seed.

Those named ``b01``... are for fitting; those named ``h01``... are held out for judging, never fitted.
"""

from dataclasses import dataclass

import numpy as np

SEED = 20_250
GROUPS = (
    ("b", 24, 0.0),
    ("h", 8, 0.0),
    ("b", 168, 1.0),
    ("h", 8, 0.0),
    ("b", 200, 1.0),
    ("h", 8, 0.0),
    ("h", 32, 0.0),
    ("h", 16, 0.0),
)
"""Initial, how many, and how much wider than the usual they are drawn, in the order in which they came
to be: most of those fitted are drawn wider, so that the held-out ones lie inside."""


@dataclass(frozen=True, slots=True)
class Person:
    """Body-model values (0-1; gender 0 male, 1 female) and arm lengths as a share of the model's."""

    name: str
    shape: dict[str, float]
    upper_arm: float
    forearm: float


def _people() -> tuple[Person, ...]:
    rng = np.random.default_rng(SEED)
    seen = {"b": 0, "h": 0}
    people = []
    drawn = [(initial, more) for initial, count, more in GROUPS for _ in range(count)]
    for index, (initial, more) in enumerate(drawn):
        seen[initial] += 1
        shape = {
            "gender": float(np.clip((index % 2) + rng.uniform(-0.15, 0.15), 0, 1)),
            # 0.5 is a teenager nearly grown, 1 an old person.
            "age": float(rng.uniform(0.55, 0.95)),
            "muscle": float(rng.uniform(0.25 - 0.1 * more, 0.85 + 0.1 * more)),
            "weight": float(rng.uniform(0.25 - 0.1 * more, 0.85 + 0.1 * more)),
            "height": float(rng.uniform(0.05, 0.65 + 0.1 * more)),
            "proportions": float(rng.uniform(0.2 - 0.1 * more, 0.9)),
        }
        arms = rng.uniform(0.92 - 0.04 * more, 1.08 + 0.04 * more, 2)
        people.append(Person(f"{initial}{seen[initial]:02d}", shape, *arms))
    return tuple(people)


PEOPLE = _people()
