"""The columns of an unknown file, with what each seems to be."""

from collections.abc import Mapping, Sequence

import pandas as pd

from dashboard.wording.proposing_sources import NOT_READ, READING
from dashboard.wording.sources import MEANINGS
from spc.intake import Table
from spc.intake.profile import Headers
from spc.intake.proposal import Proposal

COLUMN, SHOWN, MEANT = "column", "in the file", "what it is"


def columns_table(table: Table, told: Proposal) -> pd.DataFrame:
    """One line a column: its header, its first texts, and what it seems to be."""
    meant = {header: MEANINGS[one] for one, headers in told.columns.items() for header in headers}
    for reading in told.readings:
        meant |= dict.fromkeys((reading.reading, *reading.parts.values()), READING)
    return pd.DataFrame(
        {
            COLUMN: table.headers,
            SHOWN: [", ".join(first_texts(table, (header,))) for header in table.headers],
            MEANT: [meant.get(header, NOT_READ) for header in table.headers],
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
    return chosen.loc[chosen[MEANT] == READING, COLUMN].tolist()
