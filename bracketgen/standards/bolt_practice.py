"""How far bolts reach: habits of the trade."""

from __future__ import annotations

from typing import Final

#: Thread that looks out of a nut, in pitches; common practice, no source. A published solution of a textbook exercise
#: (machine design course, fall 2010, coursehero.com file 6654563) calls two or more adequate.
TIP_PITCHES: Final = 2.0
#: How deep a bolt goes into a thread that is there already, in diameters; common practice, no source.
DEPTH_DIAMETERS: Final = 1.5
#: How deep a bolt goes into an isolator's thread at least, in diameters; common practice, no source.
LEAST_DEPTH_DIAMETERS: Final = 1.0
