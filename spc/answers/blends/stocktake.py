"""A stock-take: a table of what was found of each lot, read or refused as a whole."""

import io
import math
from collections.abc import Hashable, Mapping
from typing import Any, Final

import pandas as pd

from spc.errors import IntakeError, InvalidInput
from spc.store.blends.bags import Move
from spc.store.blends.stock_moves import counted

COLUMNS: Final = ("lot", "bags", "bag_kg", "opened_kg")


def stocktake_counts(name: str, content: bytes) -> list[Move]:
    """What a stock-take says, one count a lot.

    Parameters
    ----------
    name
        Of the file, for what is said about it.
    content
        Comma-separated UTF-8 text with the header `COLUMNS`: whole bags, the kg of one bag (empty
        where there is no whole one), and the kg in opened bags.

    Returns
    -------
    list of Move
        To be handed to `store.blends.take_stock`.

    Raises
    ------
    IntakeError
        If it is no such table, or a line is no count; nothing of it is used then.
    """
    try:
        frame = pd.read_csv(io.BytesIO(content), dtype={"lot": "str"}, encoding="utf-8-sig")
    except (ValueError, pd.errors.ParserError) as problem:
        raise _refused(name, f"it is no table: {problem}.") from problem
    if tuple(frame.columns) != COLUMNS:
        raise _refused(name, f"its header is {', '.join(map(str, frame.columns))}.")
    found = []
    for line, row in enumerate(frame.to_dict("records"), start=2):
        try:
            found.append(_count(row))
        except (InvalidInput, ValueError, TypeError) as problem:
            raise _refused(f"{name}, line {line}", f"it is no count: {problem}") from problem
    return found


def _count(row: Mapping[Hashable, Any]) -> Move:
    bag = float(row["bag_kg"])
    return counted(
        str(row["lot"]),
        bags=int(str(row["bags"])),
        bag_kg=None if math.isnan(bag) else bag,
        opened_kg=float(row["opened_kg"]),
    )


def _refused(where: str, what: str) -> IntakeError:
    return IntakeError(
        what,
        where=where,
        remedy=f"Write {', '.join(COLUMNS)}, one lot a line, as comma-separated text.",
    )
