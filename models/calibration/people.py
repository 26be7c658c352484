"""The people that training and judging clips show: body shapes by a fixed seed.

Twenty-four (``b01``...) are for fitting; eight (``h01``...) are held out for judging and never fitted.
"""

from dataclasses import dataclass

import numpy as np

SEED = 20_250
FITTED, HELD_OUT = 24, 8


@dataclass(frozen=True, slots=True)
class Person:
    """Body-model values (0-1; gender 0 male, 1 female) and arm lengths as a share of the model's."""

    name: str
    shape: dict[str, float]
    upper_arm: float
    forearm: float


def _people() -> tuple[Person, ...]:
    rng = np.random.default_rng(SEED)
    names = [f"b{k:02d}" for k in range(1, FITTED + 1)]
    names += [f"h{k:02d}" for k in range(1, HELD_OUT + 1)]
    people = []
    for index, name in enumerate(names):
        shape = {
            "gender": float(np.clip((index % 2) + rng.uniform(-0.15, 0.15), 0, 1)),
            # 0.5 is a teenager nearly grown, 1 an old person.
            "age": float(rng.uniform(0.55, 0.95)),
            "muscle": float(rng.uniform(0.25, 0.85)),
            "weight": float(rng.uniform(0.25, 0.85)),
            "height": float(rng.uniform(0.05, 0.65)),
            "proportions": float(rng.uniform(0.2, 0.9)),
        }
        people.append(Person(name, shape, *rng.uniform(0.92, 1.08, 2)))
    return tuple(people)


PEOPLE = _people()
