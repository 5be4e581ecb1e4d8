"""A file that no source profile fits: what it seems to say, what is asked, and a new profile."""

from collections.abc import Mapping
from dataclasses import replace

import streamlit as st

from dashboard.frame import session
from dashboard.frame.escaping import marked, plain
from dashboard.gate import present
from dashboard.intake.marked import counting
from dashboard.intake.measures import measure, words_read
from dashboard.intake.tables.files import preview_held, preview_table
from dashboard.intake.tables.sources import (
    COLUMN,
    MEANT,
    SHOWN,
    columns_table,
    first_texts,
    is_long,
    long_columns,
    meanings,
    measured,
)
from dashboard.intake.words import files, proposals
from dashboard.intake.words.sources import MEANINGS
from spc.answers.source_profiles import chosen_readings, next_profile_text
from spc.errors import LotHeatError
from spc.intake import Table, read
from spc.intake.profiles.profile import LOT_MEANINGS, FileForm, Headers
from spc.intake.profiles.profile import MEANINGS as READ
from spc.intake.proposals.proposal import propose, settled, styles
from spc.intake.readers.dialect import Dialect, dialect
from spc.store import Store

_OPEN = "Answer what is open above, and the rows are shown as they would be taken in."


def form(store: Store, name: str, content: bytes, problem: LotHeatError) -> None:
    """Propose a profile for a file; nothing is read before what it leaves open is answered."""
    try:
        found = dialect(name, content)
    except LotHeatError as worse:
        st.error(plain(f"{name}: {worse}"))
        return
    with st.container(border=True):
        st.markdown(plain(proposals.proposed(name, problem)))
        layout = _layout(found, key=name)
        if layout is None:
            st.info(_OPEN)
            return
        try:
            table = read(content, layout)
            layout = counting(table, layout, key=name)
            table = read(content, layout) if layout.fill_merged else table
        except LotHeatError as worse:
            st.error(plain(f"{name}: {worse}"))
            return
        _columns_and_name(store, name, content, table, layout)


def _layout(found: Dialect, *, key: str) -> FileForm | None:
    """The layout after what the file left open is answered; None while something is open."""
    layout = found.form
    for asked in found.ambiguities:
        answer = st.radio(
            marked(proposals.question(asked)),
            asked.candidates,
            index=None,
            format_func=proposals.sign,
            horizontal=True,
            key=f"{key}-{asked.about}",
        )
        if answer is None:
            return None
        layout = settled(layout, asked, answer)
    return layout


def _columns_and_name(
    store: Store, name: str, content: bytes, table: Table, layout: FileForm
) -> None:
    catalogue = store.catalogue()
    told = propose(table, catalogue)
    options = [
        proposals.NOT_READ,
        proposals.READING,
        proposals.UNIT,
        proposals.NAMING,
        proposals.BY_METHOD,
    ]
    options += [MEANINGS[one] for one in (*READ, *LOT_MEANINGS) if one in MEANINGS]
    chosen = st.data_editor(
        columns_table(table, told),
        hide_index=True,
        height="content",
        disabled=[COLUMN, SHOWN],
        column_config={MEANT: st.column_config.SelectboxColumn(options=options, required=True)},
        key=f"{name}-columns",
    )
    columns = meanings(chosen)
    style = _date_style(table, columns, key=name)
    if is_long(chosen):
        readings = words_read(long_columns(chosen), table, catalogue, key=name)
    else:
        readings = chosen_readings(told, measured(chosen), catalogue.methods)
    measures = [measure(one, table, key=name) for one in readings]
    profile = st.text_input("Name of this source", key=f"{name}-profile").strip()
    zone = st.text_input("Time zone of its times", value="UTC", key=f"{name}-zone").strip()
    whole = [one for one in measures if one is not None]
    if not (style and profile and len(whole) == len(measures)):
        st.info(_OPEN)
        return
    text = next_profile_text(
        store,
        profile,
        file=name,
        form=replace(layout, date_format=style, time_zone=zone),
        columns=columns,
        measures=whole,
    )
    _look_and_save(store, name, content, profile, text)


def _date_style(table: Table, columns: Mapping[str, Headers], *, key: str) -> str:
    """The style of its dates: the only one that fits, or the one a person chose."""
    dated = columns.get("measured_at", columns.get("received_at", ()))
    if not dated:
        return FileForm().date_format
    fitting = styles(table, columns)
    if len(fitting) == 1:
        return fitting[0]
    question = marked(proposals.date_question(first_texts(table, dated)))
    if not fitting:
        return st.text_input(f"{question} As in %d.%m.%Y %H:%M", key=f"{key}-style").strip()
    return (
        st.radio(
            question,
            fitting,
            index=None,
            format_func=proposals.date_style,
            horizontal=True,
            key=f"{key}-style",
        )
        or ""
    )


def _look_and_save(store: Store, name: str, content: bytes, profile: str, text: str) -> None:
    """What the first rows become, and the button that keeps the profile and takes the file in."""
    try:
        receipt, fate = store.intake.preview_profile(
            text, profile=profile, name=name, content=content
        )
    except LotHeatError as problem:
        st.error(plain(str(problem)))
        return
    st.markdown(plain(f"{files.receipt(receipt)} Nothing is stored yet."))
    if not fate.results.empty:
        st.dataframe(preview_table(fate.results.head(20)), hide_index=True)
    if not fate.held.empty:
        st.dataframe(preview_held(fate.held.head(20)), hide_index=True)
    with st.expander("The profile as it will be kept"):
        st.code(text, language="toml")
    if st.button("Save the profile and take in the file", type="primary", key=f"{name}-save"):
        by = present.proof()
        try:
            store.receive_bytes(f"{profile}.toml", text.encode(), by=by)
            session.tell(files.receipt(store.receive_bytes(name, content, profile, by=by)))
        except LotHeatError as problem:
            st.error(plain(str(problem)))
            return
        session.next_turn()
        st.rerun()
