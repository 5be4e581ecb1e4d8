"""The lots that a file announces."""

from collections.abc import Sequence
from typing import Final

import pandas as pd

from spc.intake.checks.holds import Holds
from spc.intake.checks.spelling import did_you_mean
from spc.intake.distinct import decoded, mapped
from spc.intake.profiles.profile import SourceProfile
from spc.intake.table.columns import Known, moment, number, text

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
_WHOLE: Final = ("harvest_year", "packages")
_MOST: Final = 1_000_000
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
    holds.add(
        frame["received_at"].isna(),
        "missing-date",
        reason="The day of receipt is not given.",
        remedy="Find out when the lot came; a date is never assumed.",
    )
    for column in _LOT_NUMBERS:
        frame[column] = number(text(cells, profile.lots, column), column, profile, holds)
        _hold_impossible(frame[column], column, holds)
    frame["currency"] = profile.currency
    return decoded(frame[list(LOT_FACTS)])


def _hold_impossible(given: pd.Series, column: str, holds: Holds) -> None:
    """A lot has no negative price, no half package, and no more packages than can be counted."""
    words = column.replace("_", " ")
    holds.add(
        given < 0.0,
        "negative-number",
        about=given,
        reason=lambda value: f"{words} {value:g} is negative.",
        remedy="Correct the cell on Intake once its source has said what is meant.",
    )
    if column in _WHOLE:
        holds.add(
            given.notna() & ((given % 1.0 != 0.0) | (given > _MOST)),
            "unreadable-number",
            about=given,
            reason=lambda value: f"{words} {value:.15g} is not a number that can be counted.",
            remedy="Correct the cell on Intake once its source has said what is meant.",
        )


def _named(
    texts: pd.Series, kind: str, names: Sequence[str], profile: SourceProfile, holds: Holds
) -> pd.Series:
    """Names as the catalogue spells them."""
    spelled = {**{name: name for name in names}, **profile.spellings.get(kind, {})}
    name = mapped(texts, spelled)
    holds.add(
        ~name.isin(list(names)),
        f"unknown-{kind}",
        about=texts,
        reason=lambda text: f"{kind.capitalize()} {text!r} is not in the catalogue.",
        remedy=did_you_mean(
            names, otherwise="Add it to the catalogue or its spelling to the profile."
        ),
    )
    return name
