"""Held rows that have the same text in the same column."""

import json
from dataclasses import dataclass

import pandas as pd

from spc.intake import SourceProfile


@dataclass(frozen=True, slots=True, kw_only=True)
class Alike:
    """Held rows in which one column has one text that is no number."""

    header: str
    text: str
    rows: tuple[int, ...]


def alike_cells(held: pd.DataFrame, profile: SourceProfile) -> list[Alike]:
    """The texts for which rows of one file are held, each with its column; the commonest first."""
    read = [header for one in profile.measures for header in one.read_at]
    found: dict[tuple[str, str], list[int]] = {}
    for row, original, reason in zip(
        held["source_row"], held["original"], held["reason"], strict=True
    ):
        cells = json.loads(original)
        for header in dict.fromkeys(read):
            text = cells.get(header, "")
            if text and repr(text) in reason:
                found.setdefault((header, text), []).append(int(row))
    every = [Alike(header=one[0], text=one[1], rows=tuple(rows)) for one, rows in found.items()]
    return sorted(every, key=lambda one: -len(one.rows))
