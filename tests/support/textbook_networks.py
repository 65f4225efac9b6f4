"""Networks of measured distances with printed answers, as sites: lengths stand as mm whatever their unit is.

All are from F. Krumm, Geodetic Network Adjustment Examples, Rev. 3.5, Geodaetisches Institut, Universitaet Stuttgart,
2020, which gives the books' data and results: inputs and printed coordinates, for example 3.1.1 the printed
residuals too.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from bracketgen.geometry.arrays import Floats
from bracketgen.vehicle.locate.locate import Located
from bracketgen.vehicle.site import Site, read_site

#: What stands for 'known': far below every sigma of the books.
_KNOWN = 1e-6


@dataclass(frozen=True)
class Network:
    """Known points, rough places of new ones, distances with one sigma, and the printed answers with theirs.

    The books scale deviations by the estimated unit weight, where `scaled` says so, else by the one given.
    """

    known: Mapping[str, tuple[float, ...]]
    rough: Mapping[str, tuple[float, ...]]
    distances: tuple[tuple[str, str, float], ...]
    sigma: float
    answers: Mapping[str, tuple[tuple[float, float], ...]]
    scaled: bool = True


#: W. Benning (2011), example 8-2; Krumm pp. 48-50, with residuals (observed less adjusted, cm) and sigma0 6.882 mm.
BENNING = Network(
    {"p1": (0.0, 1000.0), "p2": (1000.0, 1000.0)},
    {"p3": (0.0, 0.0), "p4": (1000.0, 0.0)},
    (("p1", "p3", 1000.02), ("p1", "p4", 1414.2), ("p2", "p3", 1414.24), ("p2", "p4", 999.98), ("p3", "p4", 1000.0)),
    0.01,
    {"p3": ((-0.0096, 0.00901), (-0.0226, 0.00637)), "p4": ((999.9930, 0.00901), (0.0174, 0.00637))},
)
BENNING_RESIDUALS_CM = (-0.260, 0.368, 0.368, -0.260, -0.260)
BENNING_SIGMA0 = 0.006882

#: C. D. Ghilani, Adjustment Computations, 5th edition (2010), example 14.5, p. 251 (feet).
GHILANI = Network(
    {"Badger": (2410000.0, 390000.0), "Bucky": (2411820.0, 386881.222)},
    {"Wisconsin": (2415776.819, 391043.461), "Campus": (2416892.67, 387603.45)},
    (
        *(("Badger", "Wisconsin", 5870.302), ("Badger", "Campus", 7297.588), ("Wisconsin", "Campus", 3616.434)),
        *(("Wisconsin", "Bucky", 5742.878), ("Campus", "Bucky", 5123.760)),
    ),
    0.01,
    {
        "Wisconsin": ((2415776.9044, 0.14879), (391043.2945, 0.22061)),
        "Campus": ((2416892.6955, 0.10378), (387603.2551, 0.27054)),
    },
)

#: G. Strang and K. Borre, Linear Algebra, Geodesy, and GPS (1997), example 10.1, p. 345.
STRANG_BORRE = Network(
    {"p1": (170.71, 270.71), "p2": (100.0, 100.0), "p3": (241.42, 100.0)},
    {"P": (170.71, 170.71)},
    (("p1", "P", 100.01), ("p2", "P", 100.02), ("p3", "P", 100.03)),
    0.01,
    {"P": ((170.7029, 0.03303), (170.7234, 0.02335))},
)

#: H. Wolf, Ausgleichungsrechnung II (1979), p. 87: a point in space.
WOLF = Network(
    {
        "p1": (1200.0, 900.0, 900.0),
        "p2": (900.0, 600.0, 900.0),
        "p3": (600.0, 900.0, 900.0),
        "p4": (900.0, 1200.0, 900.0),
    },
    {"P": (900.0, 900.0, 1300.0)},
    (("p1", "P", 499.99), ("p2", "P", 500.0), ("p3", "P", 500.01), ("p4", "P", 500.02)),
    0.01,
    {"P": ((900.0167, 0.01179), (899.9833, 0.01179), (1300.0062, 0.00625))},
    scaled=False,
)


def site_of(network: Network) -> Site:
    """The network as a site: known points on the first face, held by distances that are as good as exact.

    In space every new point has a face of its own.
    """
    flat = len(next(iter(network.known.values()))) == 2
    to_site, start = frame_of(network)
    text = ['title = "book"', 'units = "mm"', "[faces.known.holes]"]
    homes = dict.fromkeys(network.known, "known") | {n: "known" if flat else n for n in network.rough}
    for name, place in (network.known | network.rough if flat else network.known).items():
        about = to_site @ (np.array([*place, 0.0][:3]) - start)
        text.append(f"{name} = {{ diameter = 1, about = [{float(about[0])!r}, {float(about[1])!r}] }}")
    for name in [] if flat else network.rough:
        at = [float(v) for v in to_site @ (np.array(network.rough[name]) - start)]
        text += [f"[faces.{name}]", f"at = {at}", f"[faces.{name}.holes]", f"{name} = {{ diameter = 1 }}"]
    known = [
        (a, b, float(np.linalg.norm(np.subtract(network.known[a], network.known[b]))))
        for a, b in combinations(network.known, 2)
    ]
    for a, b, value in (*known, *network.distances):
        text += ["[[readings]]", 'kind = "distance"', f'from = "{homes[a]}.{a}"', f'to = "{homes[b]}.{b}"']
        text += ['over = "centres"', f"value = {value!r}"]
    site = read_site("\n".join(text), "book.toml", "book")
    # Sigmas finer than a site file may say.
    errors = [_KNOWN] * len(known) + [network.sigma] * len(network.distances)
    readings = [r.model_copy(update={"error": e}) for r, e in zip(site.document.readings, errors, strict=True)]
    return replace(site, document=site.document.model_copy(update={"readings": readings}))


def frame_of(network: Network) -> tuple[Floats, Floats]:
    """The turn from the book's frame to the site's, and the site's origin in the book's."""
    first, second = (np.array([*p, 0.0][:3]) for p in list(network.known.values())[:2])
    x = (second - first) / np.linalg.norm(second - first)
    z = np.array([0.0, 0.0, 1.0])
    return np.array([x, np.cross(z, x), z]), first


def book_place(network: Network, located: Located, name: str) -> tuple[Floats, Floats]:
    """A point's place and standard deviations in the book's frame, scaled as the book does."""
    to_site, start = frame_of(network)
    hole = next(h for h in located.holes if h.id.endswith(f".{name}"))
    covariance = to_site.T @ located.covariance_of(hole.id) @ to_site / located.widened
    place: Floats = start + to_site.T @ np.array(hole.centre)
    deviations: Floats = np.sqrt(np.diag(covariance) * (located.variance_factor if network.scaled else 1.0))
    return place, deviations
