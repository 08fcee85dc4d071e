"""The array types of the engine's annotations."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

#: Array of floats, in the SI unit that the docstring beside it states.
Floats = npt.NDArray[np.float64]
#: Array of truth values.
Bools = npt.NDArray[np.bool_]
