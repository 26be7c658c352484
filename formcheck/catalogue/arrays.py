"""The kinds of numpy arrays that packages hand to each other; shapes stand in the docstrings."""

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
SingleArray = NDArray[np.float32]
BoolArray = NDArray[np.bool_]
IntArray = NDArray[np.int64]
