"""Each hazard has a part that shows it and one that does not; what must not be welded fails; no caution twice."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import pytest
from described import plate
from whole_way import whole_way

from bracketgen.findings import Level
from bracketgen.part.hazards import HEAVY_KG, SiteFacts, with_hazards
from bracketgen.part.part import Part
from bracketgen.pipeline import work_out
from bracketgen.standards.cautions import cautions, printed_cautions, told_by

SHAPES = Path(__file__).parents[2] / "shapes"
BOLT = '[[panels.base.holes]]\nbolt = "M6"\nat = [50, 40]'


def weld(to: str = "") -> str:
    return f'[[panels.base.welds]]\nedge = "top"\nthroat = 4\nto = "{to}"'


def part(*further: str, title: str = "Plate", metal: str = "S235", stock: str = "", t: float = 4) -> Part:
    text = plate(*further, stock=stock).replace('"Plate"', f'"{title}"')
    return whole_way(text.replace('"S235"', f'"{metal}"').replace("thickness = 2", f"thickness = {t:g}")).flat.part


def around(*matters: str, names: tuple[str, ...] = (), kg: float = 0.0) -> SiteFacts:
    return SiteFacts(matters, names, kg, True)


PAINTED = 'coating = { kind = "powder", film = "0.1 mm" }'
ZINC_COATED = 'coating = { kind = "zinc", film = "0.02 mm" }'
PLASMA, WATERJET = 'process = "plasma"', 'process = "waterjet"'

#: By hazard: a part that has it, and one as near to it as can be that has not.
PARTS = {
    "fuel": (part(title="Diesel filter bracket"), part(title="Air filter bracket")),
    "oil": (part(title="Oil cooler stay"), part(title="Cooler stay")),
    "brake": (part(title="Tab beside the brake line"), part(title="Tab beside the line")),
    "exhaust": (part(weld("exhaust pipe")), part(weld("pipe"))),
    "battery": (part(title="Battery tray"), part(title="Tray")),
    "coolant": (part(title="Radiator stays"), part(title="Stays")),
    "fan": (part(title="Fan shroud tab"), part(title="Shroud tab")),
    "load": (with_hazards(part(), around(kg=2.5)), with_hazards(part(), around())),
    "heavy": (with_hazards(part(), around(kg=HEAVY_KG)), with_hazards(part(), around(kg=HEAVY_KG - 0.1))),
    "vehicle": (with_hazards(part(), around()), part()),
    "structure": (part(weld("chassis rail")), part(weld("pipe"))),
    "weld": (part(weld()), part()),
    "fume": (part(weld()), part(weld(), metal="304")),
    "chromium": (part(weld(), metal="304", stock=WATERJET), part(metal="304", stock=WATERJET)),
    "zinc": (part(weld(), stock=ZINC_COATED), part(stock=ZINC_COATED)),
    "paint": (part(weld(), stock=PAINTED), part(stock=PAINTED)),
    "arc": (part(stock=PLASMA), part(stock=WATERJET)),
    "temper": (part(weld(), metal="6061-T6"), part(weld())),
    "aluminium": (part(metal="5052-H32"), part()),
    "magnesium": (with_hazards(part(), around(names=("magnesium housing",))), part()),
    "titanium": (part(title="Tab for the titanium can"), part(title="Tab for the can")),
    "corrosion": (part(BOLT, metal="5052-H32"), part(BOLT)),
}


def test_every_hazard_has_its_parts() -> None:
    assert PARTS.keys() == {row.id for row in cautions().values() if row.on == "part"} - {"codes", "edges"}


@pytest.mark.parametrize("hazard", PARTS)
def test_one_part_shows_it_and_one_does_not(hazard: str) -> None:
    shows, does_not = PARTS[hazard]
    text = cautions()[hazard].printed
    assert shows.cautions.count(text) == 1 and hazard in shows.near
    assert text not in does_not.cautions and hazard not in does_not.near


@pytest.mark.parametrize(
    ("matter", "hazard"),
    [
        *(("fuel", "fuel"), ("oil", "oil"), ("brake", "brake"), ("exhaust", "exhaust"), ("live", "battery")),
        *(("coolant", "coolant"), ("moving", "fan")),
    ],
)
def test_what_a_neighbour_carries_tells_of_a_hazard(matter: str, hazard: str) -> None:
    assert hazard in with_hazards(part(), around(matter)).near
    assert hazard not in with_hazards(part(), around("metal", "air")).near


def test_what_is_hot_cut_is_told_of_as_what_is_welded() -> None:
    assert "chromium" in part(metal="304").near and "zinc" in part(metal="DX51D", t=1).near
    assert "zinc" not in part(metal="DX51D", t=1, stock=WATERJET).near
    assert "zinc" in part(weld("galvanized post")).near
    # A coating is put on after cutting.
    assert "zinc" not in part(stock=ZINC_COATED + "\n" + PLASMA).near


def test_the_typed_word_adds_and_never_takes_away() -> None:
    typed = whole_way('near = ["fuel"]\n' + plate()).flat.part
    assert "fuel" in typed.near
    assert set(PARTS["oil"][0].near) <= set(
        whole_way('near = ["fuel"]\n' + plate().replace("Plate", "Oil tab")).flat.part.near
    )


def test_local_codes_come_first_then_the_users_word_and_edges_last() -> None:
    said = printed_cautions(("fuel",), "holds the light")
    assert said[0].startswith("Local vehicle codes and licensed practice come first")
    assert said[1] == "On the user's word, seen by nobody here: this part holds the light."
    assert said[-1] == "Cut edges are sharp: deburr."


def test_no_two_cautions_say_the_same() -> None:
    """No four words in a row stand in two of them."""

    def runs(text: str) -> set[tuple[str, ...]]:
        words = text.casefold().replace(",", "").replace(".", "").split()
        return {tuple(words[i : i + 4]) for i in range(len(words) - 3)}

    both = {
        (a.id, b.id): runs(a.text) & runs(b.text)
        for a, b in combinations(cautions().values(), 2)
        if runs(a.text) & runs(b.text)
    }
    # Dust of two metals is put out alike; a part is of one of them.
    assert both.keys() <= {("magnesium", "titanium")}


def test_each_caution_is_short_and_names_a_text_without_an_address() -> None:
    for row in cautions().values():
        assert row.on != "part" or len(row.text) <= 180, row.id
        assert "http" not in row.printed and "www" not in row.printed
        assert bool(row.named) == (row.how == "read"), row.id


def test_a_word_counts_in_any_case_and_as_plural() -> None:
    assert told_by((), ("MUFFLERS",)) == ("exhaust",)
    assert told_by((), ("refuel",)) == ()


# -- a site tells its own


def test_a_part_at_its_site_has_the_hazards_of_what_stands_there() -> None:
    path = SHAPES / "sites" / "exhaust-hanger.toml"
    text = path.read_text(encoding="utf-8")
    line = next(line for line in text.splitlines() if line.startswith("near ="))
    made = work_out(text.replace(line, ""), str(path), path.stem, folder=str(path.parent))
    assert {"exhaust", "brake", "load", "vehicle"} <= set(made.job.part.near)
    assert made.place is not None and made.place.placed.folded.part.cautions == made.job.part.cautions


# -- what must not be welded


@pytest.mark.parametrize(
    ("to", "metal", "fails"),
    [
        ("fuel tank", "S235", True),
        ("oil drums", "S235", True),
        ("tank bracket", "S235", False),
        ("leaf spring", "S235", True),
        ("spring hanger", "S235", False),
        ("aluminium rail", "S235", True),
        ("6061-T6 plate", "S235", True),
        ("steel rail", "5052-H32", True),
        ("S355 rail", "5052-H32", True),
        ("aluminium rail", "5052-H32", False),
        ("steel rail", "304", False),
        ("pipe", "S235", False),
    ],
)
def test_tanks_springs_and_strange_metals_are_not_welded_to(to: str, metal: str, fails: bool) -> None:
    text = plate(weld(to)).replace('"S235"', f'"{metal}"').replace("thickness = 2", "thickness = 4")
    found = [f for f in work_out(text, "part.toml", "part").findings if f.rule == "weld-forbidden"]
    assert [(f.level, f.subject) for f in found] == [(Level.FAIL, "base/weld-1")] * fails
    assert all(f.source and f.at_mm for f in found)
