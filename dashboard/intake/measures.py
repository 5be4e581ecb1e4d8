"""What each column or word of an unknown file measures: asked where the file leaves it open."""

from collections.abc import Sequence
from dataclasses import replace

import streamlit as st

from dashboard.frame.escaping import marked
from dashboard.intake.words import proposals
from spc import units
from spc.intake import Catalogue, Table
from spc.intake.profiles.profile import Measure
from spc.intake.proposals.candidates import Reading
from spc.intake.proposals.long_tables import LongColumns, named_readings


def words_read(
    long: LongColumns | None, table: Table, catalogue: Catalogue, *, key: str
) -> list[Reading]:
    """The words of a long table that a person has read; those the catalogue knows to begin with."""
    if long is None:
        st.warning(proposals.ONE_EACH)
        return []
    named = named_readings(table, long, catalogue)
    wanted = st.multiselect(
        marked(proposals.words_question(long.naming)),
        range(len(named)),
        default=[place for place, one in enumerate(named) if one.candidates],
        format_func=[proposals.title(one) for one in named].__getitem__,
        key=f"{key}-words-{'-'.join(filter(None, (long.naming, long.method)))}",
    )
    st.caption(
        marked(proposals.left_out([one for place, one in enumerate(named) if place not in wanted]))
    )
    return [
        replace(one, candidates=one.candidates or catalogue.methods)
        for one in (named[place] for place in wanted)
    ]


def measure(one: Reading, table: Table, *, key: str) -> Measure | None:
    """What a column measures, in which unit and on which basis; None while that is open."""
    title = proposals.title(one)
    left, middle, right = st.columns(3)
    method = left.selectbox(
        marked(f"{title} is"),
        one.candidates,
        index=0 if len(one.candidates) == 1 else None,
        format_func=proposals.method,
        key=f"{key}-{title}-method",
    )
    known = list(units.KNOWN)
    headers = list(table.headers) if one.unit_column or not one.unit else []
    unit = middle.selectbox(
        marked(f"Unit of {title}"),
        [*known, *headers],
        index=_place([*known, *headers], one.unit or one.unit_column),
        format_func=proposals.unit,
        key=f"{key}-{title}-unit",
    )
    basis = right.selectbox(
        marked(f"Basis of {title}"),
        list(proposals.BASES),
        index=_place(list(proposals.BASES), _plain_basis(one)),
        format_func=proposals.BASES.__getitem__,
        key=f"{key}-{title}-basis",
    )
    if method is None or unit is None or basis is None:
        return None
    return Measure(
        characteristic=method.characteristic,
        method=method.method,
        reading=one.reading,
        parts=one.parts,
        where=one.where,
        unit=unit if unit in known else "",
        unit_column="" if unit in known else unit,
        basis=basis,
    )


def _plain_basis(one: Reading) -> str | None:
    """Whether something is present does not depend on the water in it; all else is asked."""
    absence = one.unit in units.KNOWN and units.measures(one.unit).startswith("presence")
    return "" if absence else None


def _place(options: Sequence[str], wanted: str | None) -> int | None:
    return options.index(wanted) if wanted in options else None
