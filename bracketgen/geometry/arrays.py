"""What numpy's arrays hold, by name."""

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
#: Places in other arrays.
Indices = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]
