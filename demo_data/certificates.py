"""The delivery register: one row a lot, with what the supplier's certificate says."""

from collections.abc import Sequence
from datetime import timedelta
from typing import Final

import numpy as np

from demo_data.mess import AMBIGUOUS, IMPOSSIBLE_DAY, Row, ambiguous_lot, misdated_lot, repeated_lot
from demo_data.scenario import Lot, generator

HEADER: Final = [
    "Our lot", "Received", "Supplier", "Supplier lot", "Material", "Crop year", "Bags", "Bag kg",
    "Price EUR/kg", "Declared SHU", "Declared moisture %", "Certificate date",
]  # fmt: skip
SUPPLIER_SPELLINGS: Final = {
    "Aldermoss Growers": ("ALDERMOSS GROWERS", "Aldermoss Growers Ltd"),
    "Brindlemoor Trading": ("Brindlemoor Trading Co", "BRINDLEMOOR"),
    "Copperfen Peppers": ("Copperfen Peppers Ltd",),
    "Dunmarsh Ingredients": ("Dunmarsh Ingr.",),
    "Eastlode Mills": ("EASTLODE MILLS", "Eastlode Mill"),
    "Farrowmere Cooperative": ("Farrowmere Coop", "Farrowmere Co-operative"),
    "Glimmerford Farms": ("GLIMMERFORD FARMS",),
    "Hollin Reach Extracts": ("Hollin Reach",),
    "North Fen Spices": ("NORTH FEN SPICES LTD", "North Fen Spices Ltd"),
}
MATERIAL_SPELLINGS: Final = {
    "ground habanero": ("Habanero, ground",),
    "cayenne powder": ("Cayenne", "Cayenne pepper powder"),
    "chilli flakes": ("Chilli flakes",),
    "red pepper powder": ("Red pepper powder",),
    "jalapeño mash": ("Jalapeno mash",),
    "capsicum oleoresin": ("Oleoresin capsicum",),
}
OTHER_SPELLING: Final = 0.22  # share of rows that are not spelled as in the catalogue
WITH_COMMAS: Final = {
    "Brindlemoor Trading", "Dunmarsh Ingredients", "Hollin Reach Extracts", "North Fen Spices",
}  # fmt: skip
CERTIFICATE_SPREAD: Final = 0.035
PRICE_RISE: Final = 1.03  # a crop year


def certificate_files(lots: Sequence[Lot]) -> dict[str, list[Row]]:
    """Rows by half-year of receipt, header first, with the mess that people left."""
    ambiguous, misdated, repeated = ambiguous_lot(lots), misdated_lot(lots), repeated_lot(lots)
    files: dict[str, list[Row]] = {}
    for lot in lots:
        half = 1 if lot.received.month <= 6 else 2
        rows = files.setdefault(f"{lot.received.year}-H{half}_certificates.csv", [HEADER])
        row = _row(lot)
        if lot is ambiguous:
            row[HEADER.index("Declared SHU")] = AMBIGUOUS
        if lot is misdated:
            row[HEADER.index("Received")] = IMPOSSIBLE_DAY
        rows.extend([row, row] if lot is repeated else [row])
    return files


def _row(lot: Lot) -> Row:
    rng = generator(13, lot.serial)
    stream, material = lot.stream, lot.stream.material
    price = material.price * PRICE_RISE ** (lot.harvest_year - 2024) * rng.uniform(0.93, 1.07)
    moisture = lot.moisture + 0.3 * rng.standard_normal()
    return [
        lot.lot,
        lot.received.isoformat(),
        _spelled(stream.supplier, SUPPLIER_SPELLINGS, rng),
        _supplier_lot(lot),
        _spelled(material.material, MATERIAL_SPELLINGS, rng),
        str(lot.harvest_year),
        str(rng.integers(material.bags[0], material.bags[1] + 1)),
        str(material.bag_kg),
        f"{price:.2f}",
        _declared(lot, rng),
        f"{moisture:.1f}" if lot.moisture else "",
        (lot.received - timedelta(days=int(rng.integers(9, 28)))).isoformat(),
    ]


def _spelled(name: str, spellings: dict[str, tuple[str, ...]], rng: np.random.Generator) -> str:
    if rng.random() < OTHER_SPELLING:
        return str(rng.choice(spellings[name]))
    return name


def _supplier_lot(lot: Lot) -> str:
    initials = "".join(word[0] for word in lot.stream.supplier.split()[:2])
    return f"{initials}{lot.harvest_year % 100}-{1000 + 7 * lot.serial}"


def _declared(lot: Lot, rng: np.random.Generator) -> str:
    """Heat as the supplier rounds and writes it."""
    spread = CERTIFICATE_SPREAD / 2.0 if lot.waiting else CERTIFICATE_SPREAD
    heat = lot.heat * lot.stream.certificate * float(np.exp(spread * rng.standard_normal()))
    step = next(s for least, s in ((1e5, 1000), (2e4, 500), (5e3, 100), (0, 50)) if heat > least)
    rounded = int(round(heat / step) * step)
    return f"{rounded:,}" if lot.stream.supplier in WITH_COMMAS else str(rounded)
