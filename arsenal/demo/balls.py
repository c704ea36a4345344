"""Ball models of the demo, named after trees, and the balls on its shelf. All invented."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

# How far the figures of a lighter or heavier ball of the same model move from those of 15 lb:
# the share of the way towards a uniform ball's RG, and what is left of the differential.
UNIFORM_RG_IN = 2.72
BY_WEIGHT: dict[int, tuple[float, float]] = {
    16: (-0.03, 1.0),
    15: (0.0, 1.0),
    14: (0.06, 0.97),
    13: (0.30, 0.84),
    12: (0.48, 0.68),
    11: (0.60, 0.52),
    10: (0.68, 0.42),
    9: (0.76, 0.32),
    8: (0.82, 0.24),
}
GROWN = (12, 13, 14, 15, 16)
HEAVY = (14, 15, 16)
ALL_AGES = (8, 9, 10, 11, 12, 13, 14, 15, 16)
YOUNG = (8, 9, 10, 11, 12, 13, 14)


@dataclass(frozen=True)
class Figures:
    """Undrilled figures at one weight."""

    weight_lb: int
    rg_low_in: float
    differential_in: float
    intermediate_differential_in: float


@dataclass(frozen=True)
class Model:
    """A ball model; RG and differentials are those of its 15 lb ball."""

    name: str
    cover: str
    finish: str
    price: str
    rg: float
    differential: float
    intermediate: float = 0.0
    weights: tuple[int, ...] = GROWN
    orderable: bool = True
    discontinued: bool = False
    lead_days: int = 5
    notes: str = ""

    def figures(self) -> Iterator[Figures]:
        for weight in self.weights:
            lighter, left = BY_WEIGHT[weight]
            yield Figures(
                weight,
                round(self.rg + lighter * (UNIFORM_RG_IN - self.rg), 3),
                round(self.differential * left, 3),
                round(self.intermediate * left, 3),
            )


MODELS: tuple[Model, ...] = (
    Model("Hornbeam", "solid", "1000", "199.00", 2.472, 0.056, 0.020, HEAVY),
    Model("Sessile Oak", "solid", "2000", "189.00", 2.478, 0.054),
    Model("Wych Elm", "solid", "2000", "179.00", 2.490, 0.048, 0.014),
    Model("Black Poplar", "solid", "3000", "149.00", 2.510, 0.042),
    Model("Field Maple", "hybrid", "2000", "185.00", 2.480, 0.052, 0.017),
    Model("Silver Lime", "hybrid", "3000", "165.00", 2.495, 0.048),
    Model("Whitebeam", "hybrid", "polished", "159.00", 2.515, 0.044),
    Model("Goat Willow", "hybrid", "4000", "135.00", 2.530, 0.036, weights=(12, 13, 14)),
    Model("Wild Service", "pearl", "polished", "189.00", 2.482, 0.053, 0.018),
    Model("Bird Cherry", "pearl", "polished", "169.00", 2.492, 0.050, 0.012),
    Model("Downy Birch", "pearl", "4000", "149.00", 2.505, 0.045),
    Model("Rowan", "pearl", "polished", "125.00", 2.545, 0.034, weights=(10, 11, *GROWN)),
    Model(
        "Grey Alder", "pearl", "polished", "109.00", 2.560, 0.024, weights=(8, 9, 10, 11, 12, 13)
    ),
    Model("Juniper", "urethane", "1000", "159.00", 2.540, 0.022),
    Model("Scots Pine", "urethane", "2000", "169.00", 2.515, 0.034, 0.008, HEAVY),
    Model("Hazel", "polyester", "polished", "79.00", 2.680, 0.010, weights=ALL_AGES, lead_days=3),
    Model("Crab Apple", "polyester", "polished", "89.00", 2.660, 0.015, weights=YOUNG),
    Model("Sweet Chestnut", "solid", "500", "209.00", 2.470, 0.058, 0.023, HEAVY, lead_days=14),
    Model(
        "Spindle",
        "hybrid",
        "2000",
        "175.00",
        2.500,
        0.050,
        0.015,
        orderable=False,
        notes="The maker is between batches: nobody can say when it comes back.",
    ),
    Model(
        "Medlar",
        "pearl",
        "polished",
        "145.00",
        2.520,
        0.046,
        orderable=False,
        discontinued=True,
        notes="Not made since 2022. Plenty of them still come in to be resurfaced.",
    ),
    Model(
        "Wild Pear",
        "solid",
        "1000",
        "155.00",
        2.485,
        0.050,
        orderable=False,
        discontinued=True,
        notes="Not made since 2018.",
    ),
    Model(
        "Quince",
        "urethane",
        "500",
        "129.00",
        2.590,
        0.012,
        orderable=False,
        discontinued=True,
        notes="The old kind of urethane, pancake core. Not made since 2005.",
    ),
)


@dataclass(frozen=True)
class Label:
    """What the label of one ball says."""

    pounds: int
    ounces: str
    top_oz: float
    pin_to_cg_in: float


@dataclass(frozen=True)
class OnShelf:
    """An undrilled ball of the shop."""

    model: str
    label: Label
    price: str
    state: str = "shelf"
    cg_off_line_in: float = 0.0


def _shelf() -> Iterator[OnShelf]:
    for model, pounds, ounces, top, pin, price in (
        ("Hornbeam", 15, "2.5", 3.1, 2.4, "195.00"),
        ("Sessile Oak", 15, "1.0", 2.6, 3.0, "185.00"),
        ("Black Poplar", 16, "1.0", 2.2, 2.6, "139.00"),
        ("Field Maple", 14, "2.0", 3.4, 2.1, "179.00"),
        ("Downy Birch", 15, "1.5", 2.8, 3.3, "145.00"),
        ("Juniper", 15, "2.8", 2.0, 1.6, "149.00"),
        ("Hazel", 15, "0.5", 1.1, 0.8, "75.00"),
        ("Hornbeam", 16, "0.0", 2.9, 2.2, "195.00"),
        ("Rowan", 16, "0.0", 2.4, 2.9, "119.00"),
        ("Wych Elm", 14, "2.0", 2.7, 2.5, "175.00"),
        ("Sessile Oak", 14, "3.5", 3.0, 2.8, "185.00"),
        ("Silver Lime", 14, "1.0", 2.5, 3.1, "159.00"),
        ("Silver Lime", 14, "2.5", 3.2, 2.0, "159.00"),
        ("Bird Cherry", 14, "1.8", 2.3, 2.7, "165.00"),
        ("Rowan", 14, "2.2", 2.9, 2.4, "119.00"),
        ("Goat Willow", 14, "0.8", 2.1, 3.4, "129.00"),
        ("Crab Apple", 14, "1.0", 1.3, 1.0, "85.00"),
        ("Black Poplar", 13, "1.5", 2.4, 2.3, "139.00"),
        ("Whitebeam", 13, "2.0", 2.0, 2.8, "149.00"),
        ("Rowan", 12, "1.0", 1.9, 2.2, "115.00"),
        ("Goat Willow", 12, "2.0", 2.2, 2.5, "125.00"),
        ("Hazel", 12, "0.5", 0.9, 0.7, "72.00"),
        ("Grey Alder", 11, "1.0", 1.4, 1.2, "99.00"),
        ("Grey Alder", 10, "1.5", 0.9, 0.9, "99.00"),
        ("Hazel", 8, "0.0", 0.5, 0.4, "69.00"),
    ):
        yield OnShelf(model, Label(pounds, ounces, top, pin), price)
    yield OnShelf(
        "Wild Service", Label(14, "3.0", 2.4, 2.9), "185.00", state="promised", cg_off_line_in=0.375
    )
    yield OnShelf("Wild Service", Label(15, "2.0", 2.7, 2.6), "185.00", state="sold")


SHELF: tuple[OnShelf, ...] = tuple(_shelf())
