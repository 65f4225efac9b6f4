"""Every length below which two things count as one, in one place.

The model is kept in double precision, exact to about 1e-12 mm for parts of a few metres.
The values here are far above that noise and far below anything a cutting machine can resolve.
"""

from typing import Final

#: Two lines or circles closer than this are the same carrier; a circle this near to a line touches it.
SAME_CARRIER_MM: Final = 1e-9
#: Two vertices closer than this are one vertex.
SAME_POINT_MM: Final = 1e-7
#: A point this near to an edge lies on it: ten vertices wide (own choice).
ON_EDGE_MM: Final = 1e-6
#: Shortest edge that a cutting controller should be given (common practice, no source).
SHORTEST_EDGE_MM: Final = 0.05
#: Smallest piece of metal that is not a left-over of arithmetic (own choice).
SMALLEST_PIECE_MM2: Final = 0.01
#: Chord error of scratch polygons: pictures, and checks on the safe side.
SCRATCH_CHORD_MM: Final = 0.01
#: Grid on which scratch polygons are laid over each other: above noise, far below what any area is asked for.
SNAPPED_MM: Final = 1e-9
