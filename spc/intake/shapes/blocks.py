"""Several tables below each other in one file: each ends where the header of another begins."""

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc

from spc.errors import IntakeError
from spc.intake.profiles.profile import SourceProfile
from spc.intake.profiles.recognition import recognise
from spc.intake.proposals.header_words import MEANINGS, plain
from spc.intake.readers import SURPLUS, Table
from spc.intake.readers.frame import is_unit_row
from spc.intake.readers.header import names
from spc.intake.readers.signs import is_number

# Kinds of file in which a table can stand below another.
_KINDS: Final = ("delimited", "workbook")
# A file with more rows of words than this has no headers among them, but remarks.
_MOST: Final = 500
# Two words that name columns make a header.
_FEWEST: Final = 2
_LETTERS: Final = r"^\pL[\pL. ]+"
# What stands in a reading's place and is no name of a column.
_UNREAD: Final = frozenset(
    (
        *("n d", "nd", "n a", "na", "n n", "nn", "tntc", "trace", "traces", "absent", "detected"),
        *("not detected", "present", "negative", "positive", "none", "null", "nan", "loq", "lod"),
    )
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Part:
    """One table of a file.

    Attributes
    ----------
    profile
        That it is read by.
    stranger
        Why no profile reads it, as a sentence; empty if one does.
    wider
        Whether that is because it has more columns than the first, whose reading has joined them.
    """

    profile: SourceProfile
    table: Table
    stranger: str = ""
    wider: bool = False


def parts(
    table: Table,
    profile: SourceProfile,
    others: Sequence[SourceProfile],
    *,
    is_lot: Callable[[str], bool],
) -> list[Part]:
    """The tables of a file, in their order; one, if no second header stands below the first.

    Parameters
    ----------
    table, profile
        The file read by the first header's profile.
    others
        Every profile that a later table may be read by.
    is_lot
        Whether a text is the number of a lot, which no header is.
    """
    if profile.form.kind not in _KINDS or table.cells.empty:
        return [Part(profile=profile, table=table)]
    places = list(_headers(table, profile, others, is_lot))
    if not places:
        return [Part(profile=profile, table=table)]
    ends = [*places, len(table.cells)]
    first = replace(table, cells=table.cells.iloc[: places[0]])
    found = [Part(profile=profile, table=first)]
    for begin, end in zip(places, ends[1:], strict=True):
        found.append(_below(table, begin, end, profile, others))
    return found


def _headers(
    table: Table,
    profile: SourceProfile,
    others: Sequence[SourceProfile],
    is_lot: Callable[[str], bool],
) -> Iterator[int]:
    """Places of the rows that begin another table."""
    words = _words(table, others)
    named = profile.columns["lot"][0]
    read = [header for one in profile.measures for header in one.read_at]
    likely = _is_in(table.cells[named], words)
    for header in dict.fromkeys(read):
        likely = pc.or_(likely, _is_word(table.cells[header]))
    places = np.flatnonzero(likely.to_numpy(zero_copy_only=False)).tolist()
    if len(places) > _MOST:
        return
    own = [plain(header) for header in table.headers]
    known = {plain(word) for word in words}
    for place in places:
        row = [str(cell) for cell in table.cells.iloc[place, : len(table.headers)]]
        said = [plain(cell) for cell in row]
        if said == own:
            continue
        lot = str(table.cells[named].iloc[place])
        if not is_lot(lot) and _is_header(row, lot, known, profile, read, table, place):
            # The header of a table may be said again within it.
            own = said
            yield place


def _is_header(  # noqa: PLR0913, PLR0917 - what a row is told by
    row: Sequence[str],
    lot: str,
    known: Collection[str],
    profile: SourceProfile,
    read: Sequence[str],
    table: Table,
    place: int,
) -> bool:
    said = [cell for cell in row if cell]
    if len(said) < _FEWEST or any(is_number(cell) for cell in said):
        return False
    if sum(plain(cell) in known for cell in said) >= _FEWEST:
        return True
    given = [str(table.cells[header].iloc[place]) for header in read]
    given = [text for text in given if text]
    return (
        bool(given)
        and bool(lot)
        and not any(sign.isdigit() for sign in lot)
        and all(text[0].isalpha() and len(text) > 1 for text in given)
        and not any(plain(text) in _UNREAD or text.casefold() in profile.words for text in given)
    )


def _words(table: Table, others: Sequence[SourceProfile]) -> list[str]:
    """Every name of a column that there is reason to expect."""
    named = {*table.headers, *(header for one in others for header in one.headers)}
    usual = {name for names in MEANINGS.values() for name in names}
    return sorted({*named, *usual, *(name.capitalize() for name in usual)})


def _is_in(texts: pd.Series, words: Sequence[str]) -> pa.Array:
    return pc.is_in(_plain_array(texts), value_set=pa.array(words, pa.large_string()))


def _is_word(texts: pd.Series) -> pa.Array:
    return pc.match_substring_regex(_plain_array(texts), _LETTERS)


def _plain_array(texts: pd.Series) -> pa.Array:
    whole = pa.array(texts)
    return whole.combine_chunks() if isinstance(whole, pa.ChunkedArray) else whole


def _below(
    table: Table, begin: int, end: int, profile: SourceProfile, others: Sequence[SourceProfile]
) -> Part:
    """The table whose header stands at a place."""
    cells = table.cells.iloc[begin:end]
    if (cells[SURPLUS] != "").any():
        return Part(
            profile=profile,
            table=replace(table, cells=cells),
            stranger=f"Row {cells.index[0]} begins another table, which is wider than the first.",
            wider=True,
        )
    texts = cells.iloc[:, : len(table.headers)]
    row = [str(cell) for cell in texts.iloc[0]]
    below = [str(cell) for cell in texts.iloc[1]] if len(texts) > 1 else []
    ways = [(names([row]), 1)]
    if below and is_unit_row(below):
        ways.append((names([row], [below]), 2))
    alike = [
        one
        for one in others
        if one.form.kind == profile.form.kind
        and (profile.form.kind == "delimited" or one.form.decimal == profile.form.decimal)
    ]
    why = ""
    for headers, taken in ways:
        try:
            meant = recognise(headers, alike)
        except IntakeError as problem:
            why = why or problem.what
            continue
        return Part(profile=meant, table=_named(table, texts.iloc[taken:], headers))
    return Part(
        profile=profile,
        table=_named(table, texts, tuple(names([[cell or "-" for cell in row]]))),
        stranger=f"Row {cells.index[0]} begins another table ({', '.join(filter(None, row))}), and"
        f" {why}",
    )


def _named(table: Table, texts: pd.DataFrame, headers: tuple[str, ...]) -> Table:
    """Rows under their own header; what stands beyond it is surplus."""
    cells = texts.iloc[:, : len(headers)].set_axis(list(headers), axis="columns")
    beyond = texts.iloc[:, len(headers) :]
    surplus = beyond.agg(" ".join, axis="columns").str.strip() if beyond.shape[1] else ""
    return replace(table, headers=headers, cells=cells.assign(**{SURPLUS: surplus}).astype("str"))
