"""Columns in which few texts stand many times, worked on one distinct text at a time.

A file of a million rows has a handful of units and operators, and a few thousand lots and readings.
Such a column is kept as codes into its distinct texts: what there is to say of a text is then found
once a text and not once a row, and rows are left out by their codes.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Final, TypeVar

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc

# The library's own allocator gives freed memory back at once, and taking it anew cost an eighth of
# the time of a long file; with the system's, it and numpy use what the other has freed.
pa.set_memory_pool(pa.system_memory_pool())

Said = TypeVar("Said", pd.Series, pd.DataFrame)

# Enough rows to tell few texts in any order from ever new ones.
_LOOKED_AT: Final = 100_000


def coded_columns(cells: pd.DataFrame, headers: Iterable[str]) -> pd.DataFrame:
    """Some columns of a table, coded; the library that does it needs no interpreter's lock."""
    names = list(headers)
    with ThreadPoolExecutor() as pool:
        columns = pool.map(coded, (cells[name] for name in names))
        return pd.DataFrame(dict(zip(names, columns, strict=True)), index=cells.index, copy=False)


def coded(texts: pd.Series) -> pd.Series:
    """The same texts as codes where each stands twice or more on average; else as they are."""
    looked_at = texts.iloc[:_LOOKED_AT]
    return texts if 2 * looked_at.nunique() > len(looked_at) else _coded(texts)


def constant(text: str, index: pd.Index) -> pd.Series:
    """One text in every row, coded."""
    kinds = pd.CategoricalDtype(pd.Index([text], dtype="str"))
    nought = np.zeros(len(index), dtype=np.int8)
    return pd.Series(pd.Categorical.from_codes(nought, dtype=kinds), index=index)


def of_each(texts: pd.Series, read: Callable[[pd.Series], Said]) -> Said:
    """What `read` says of every text; of a coded column it is asked once for each distinct one."""
    if not isinstance(texts.dtype, pd.CategoricalDtype):
        return read(texts)
    distinct = pd.Series(texts.cat.categories, dtype="str")
    return read(distinct).take(texts.cat.codes.to_numpy()).set_axis(texts.index)


def reworded(texts: pd.Series, words: Callable[[pd.Series], pd.Series]) -> pd.Series:
    """Another text for every text, coded like them."""
    if not isinstance(texts.dtype, pd.CategoricalDtype):
        return words(texts)
    return of_each(texts, lambda distinct: _coded(words(distinct)))


def mapped(texts: pd.Series, names: Mapping[str, str]) -> pd.Series:
    """The name for every text, coded like them; nothing where there is none."""
    return reworded(texts, lambda distinct: distinct.map(names).astype("str"))


def plain(texts: pd.Series) -> pa.Array:
    """The texts of a column, coded or not, as an array of their own."""
    whole = _together(pa.array(texts))
    if pa.types.is_dictionary(whole.type):
        whole = whole.dictionary_decode()
    return whole.cast(pa.large_string())


def as_texts(whole: pa.Array, index: pd.Index) -> pd.Series:
    """An array of texts as a column."""
    return pd.Series(pd.array(whole, dtype="str"), index=index)


def decoded(frame: pd.DataFrame) -> pd.DataFrame:
    """The same frame, every text of a coded column by itself again."""
    texts = frame.select_dtypes("category")
    return frame.assign(**{str(name): as_texts(plain(texts[name]), frame.index) for name in texts})


def glued(parts: Sequence[pd.Series | str], *, by: str) -> pd.Series:
    """Texts of several columns in one, with a sign between them; a text stands in every row."""
    wide = pa.large_string()
    pieces = [pa.scalar(one, wide) if isinstance(one, str) else plain(one) for one in parts]
    index = next(one.index for one in parts if isinstance(one, pd.Series))
    return as_texts(pc.binary_join_element_wise(*pieces, pa.scalar(by, wide)), index)


def stacked(frames: Sequence[pd.DataFrame]) -> pd.DataFrame:
    """Frames of the same columns below each other; what is coded unlike is coded anew."""
    if len(frames) == 1:
        return frames[0]
    first = frames[0]
    unlike = [name for name in first if any(one[name].dtype != first[name].dtype for one in frames)]
    whole = pd.concat([frame.drop(columns=unlike) for frame in frames])
    for name in unlike:
        texts = pa.concat_arrays([plain(frame[name]) for frame in frames])
        whole[name] = coded(as_texts(texts, whole.index))
    return whole[first.columns]


def _coded(texts: pd.Series) -> pd.Series:
    whole = _together(pa.array(texts)).dictionary_encode()
    kinds = pd.CategoricalDtype(pd.Index(pd.array(whole.dictionary, dtype="str")))
    codes = pc.fill_null(whole.indices, -1).to_numpy()
    return pd.Series(pd.Categorical.from_codes(codes, dtype=kinds), index=texts.index)


def _together(texts: pa.Array | pa.ChunkedArray) -> pa.Array:
    return texts.combine_chunks() if isinstance(texts, pa.ChunkedArray) else texts
