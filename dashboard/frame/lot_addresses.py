"""The way from a lot's number to its dossier, and back."""

from typing import Final
from urllib.parse import quote, unquote

import pandas as pd

_DOSSIER: Final = "/lot?lot="


def lot_address(lot: str) -> str:
    """Address of a lot's dossier."""
    return f"{_DOSSIER}{quote(lot)}"


def by_number(table: pd.DataFrame) -> pd.DataFrame:
    """The same table with its lots by number, not by the address of their dossier."""
    return table.assign(lot=[unquote(one.removeprefix(_DOSSIER)) for one in table["lot"]])
