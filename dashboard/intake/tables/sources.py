"""The columns of an unknown file, with what each seems to be."""

from collections.abc import Mapping, Sequence

import pandas as pd

from dashboard.intake.words.proposals import BY_METHOD, NAMING, NOT_READ, READING, UNIT
from dashboard.intake.words.sources import MEANINGS
from spc.intake import Table
from spc.intake.profiles.profile import Headers
from spc.intake.proposals.long_tables import LongColumns
from spc.intake.proposals.proposal import Proposal

COLUMN, MEANT, SHOWN = "column", "what it is", "in the file"


def columns_table(table: Table, told: Proposal) -> pd.DataFrame:
    """One line a column: its header, what it seems to be, and its first texts."""
    meant = {header: MEANINGS[one] for one, headers in told.columns.items() for header in headers}
    for reading in told.readings:
        meant |= dict.fromkeys((reading.reading, *reading.parts.values()), READING)
    if told.unit_column:
        meant[told.unit_column] = UNIT
    if told.long:
        meant |= {told.long.naming: NAMING, told.long.method: BY_METHOD}
    return pd.DataFrame(
        {
            COLUMN: table.headers,
            MEANT: [meant.get(header, NOT_READ) for header in table.headers],
            SHOWN: [", ".join(first_texts(table, (header,))) for header in table.headers],
        }
    )


def first_texts(table: Table, headers: Sequence[str]) -> list[str]:
    """The first different texts of a column, or of several joined by a blank."""
    texts = table.cells[list(headers)].head(50).agg(" ".join, axis=1).str.strip()
    return [text for text in texts.unique() if text][:3]


def meanings(chosen: pd.DataFrame) -> Mapping[str, Headers]:
    """Meaning to headers, as a person left them; two columns of one meaning are joined."""
    named = {words: meaning for meaning, words in MEANINGS.items()}
    found: dict[str, Headers] = {}
    for header, words in zip(chosen[COLUMN], chosen[MEANT], strict=True):
        if words in named:
            found[named[words]] = (*found.get(named[words], ()), header)
    return found


def measured(chosen: pd.DataFrame) -> list[str]:
    """Headers of the columns that hold what was measured."""
    return _said(chosen, READING)


def is_long(chosen: pd.DataFrame) -> bool:
    """Whether a person says that a column names what was measured."""
    return bool(_said(chosen, NAMING))


def long_columns(chosen: pd.DataFrame) -> LongColumns | None:
    """The columns of a long table, as a person left them; None unless there is one of each."""
    naming, reading = _said(chosen, NAMING), _said(chosen, READING)
    method, unit = _said(chosen, BY_METHOD), _said(chosen, UNIT)
    if (len(naming), len(reading)) != (1, 1) or len(method) > 1 or len(unit) > 1:
        return None
    return LongColumns(
        naming=naming[0], reading=reading[0], method="".join(method), unit="".join(unit)
    )


def _said(chosen: pd.DataFrame, meaning: str) -> list[str]:
    return chosen.loc[chosen[MEANT] == meaning, COLUMN].tolist()
