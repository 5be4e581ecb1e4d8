"""The lots that a file announces."""

from collections.abc import Sequence
from typing import Final

import pandas as pd

from spc.intake.columns import Known, moment, number, text
from spc.intake.holds import Holds, did_you_mean
from spc.intake.profile import SourceProfile

LOT_FACTS: Final = (
    "lot",
    "material",
    "supplier",
    "supplier_lot",
    "received_at",
    "harvest_year",
    "packages",
    "package_kg",
    "price_per_kg",
    "currency",
)
_LOT_NUMBERS: Final = ("harvest_year", "packages", "package_kg", "price_per_kg")


def lots(
    cells: pd.DataFrame, lot: pd.Series, profile: SourceProfile, known: Known, holds: Holds
) -> pd.DataFrame:
    """The lots that the rows announce."""
    if not profile.lots:
        return pd.DataFrame(columns=list(LOT_FACTS), index=cells.index[:0])
    frame = pd.DataFrame({"lot": lot})
    for kind, names in (
        ("material", [one.material for one in known.catalogue.materials]),
        ("supplier", [one.supplier for one in known.catalogue.suppliers]),
    ):
        frame[kind] = _named(text(cells, profile.lots, kind), kind, names, profile, holds)
    frame["supplier_lot"] = text(cells, profile.lots, "supplier_lot")
    received = text(cells, profile.lots, "received_at")
    frame["received_at"] = moment(received, profile, known, holds, what="the day of receipt")
    for column in _LOT_NUMBERS:
        frame[column] = number(text(cells, profile.lots, column), column, profile, holds)
    frame["currency"] = profile.currency
    return frame[list(LOT_FACTS)]


def _named(
    texts: pd.Series, kind: str, names: Sequence[str], profile: SourceProfile, holds: Holds
) -> pd.Series:
    """Names as the catalogue spells them."""
    spelled = {**{name: name for name in names}, **profile.spellings.get(kind, {})}
    name = texts.map(spelled)
    holds.add(
        ~name.isin(list(names)),
        f"unknown-{kind}",
        reason=lambda row: f"{kind.capitalize()} {texts[row]!r} is not in the catalogue.",
        remedy=lambda row: did_you_mean(
            texts[row], names, otherwise="Add it to the catalogue or its spelling to the profile."
        ),
    )
    return name
