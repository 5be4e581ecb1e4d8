"""What a count of the store room found on the demo's last morning."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Final

from demo_data.decisions import Decision
from demo_data.scenario import Lot, generator

HEADER: Final = ("lot", "bags", "bag_kg", "opened_kg")
COUNTED: Final = date(2026, 11, 20)
# Lots older than this are used up; of the others some bags are gone, and one may stand open.
LASTS_DAYS: Final = 200
UNKNOWN: Final = ("R25-0025", "R25-0137")  # held at intake, so no lot of theirs is on the books


def stock_rows(decided: Iterable[Decision], bags: dict[str, int]) -> list[Sequence[str]]:
    """One line a lot that was accepted; `bags` is how many of each were delivered."""
    accepted = {
        one.lot.lot: one.lot
        for one in decided
        if one.decision.startswith("accepted") and one.lot.lot not in UNKNOWN
    }
    return [HEADER, *(_row(lot, bags[name]) for name, lot in sorted(accepted.items()))]


def _row(lot: Lot, delivered: int) -> list[str]:
    material = lot.stream.material
    rng = generator(24, lot.serial)
    age = (COUNTED - lot.received).days
    left = int(delivered * max(0.0, 1.0 - age / LASTS_DAYS) * rng.uniform(0.5, 1.0))
    opened = round(material.bag_kg * rng.uniform(0.1, 0.9), 1) if left and left < delivered else 0.0
    return [lot.lot, str(left), str(material.bag_kg), f"{opened:.1f}"]
