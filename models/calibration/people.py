"""The people that training and judging clips show: body shapes by a fixed seed.

Those named ``b01``... are for fitting; eight (``h01``...) are held out for judging, never fitted.
"""

from dataclasses import dataclass

import numpy as np

SEED = 20_250
FITTED, HELD_OUT, MORE_FITTED = 24, 8, 168


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
    usual = len(names)
    names += [f"b{k:02d}" for k in range(FITTED + 1, FITTED + MORE_FITTED + 1)]
    people = []
    for index, name in enumerate(names):
        # Those added last are drawn wider than anybody held out, so that the judges lie inside.
        more = 0.0 if index < usual else 1.0
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
        people.append(Person(name, shape, *arms))
    return tuple(people)


PEOPLE = _people()
