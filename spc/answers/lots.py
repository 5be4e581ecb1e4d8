"""What is on record of one lot, gathered from one state of the store."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final

import pandas as pd

from spc.acceptance import Line, LotVerdict
from spc.answers.charted_streams import (
    ChartedStream,
    points_of_lot,
    stream_held_to,
)
from spc.answers.lot_record import Calculation, LotRecord
from spc.answers.methods import declared_methods
from spc.answers.signed_versions import signed_versions
from spc.answers.specified_lines import line_among
from spc.store import Lot, Store, StreamKey

_ALL: Final = 2**31 - 1


def record_of_lot(store: Store, lot: str, *, printed_by: str, printed_at: datetime) -> LotRecord:
    """What is on record of one lot, all of it from one state of the store.

    Parameters
    ----------
    store
        Is read only.
    lot
        Its number.
    printed_by
        Who asks for the record.
    printed_at
        When; UTC, or with its zone.

    Returns
    -------
    LotRecord

    Raises
    ------
    UnknownName
        If there is no such lot, or its material has no specification.
    """
    while True:
        before = store.revision()
        record = _gathered(store, lot, printed_by=printed_by, printed_at=printed_at)
        # Every write lengthens the chain; what was read across one would not belong together.
        if store.revision() == before:
            return record


def held_rows_of_lot(store: Store, lot: str) -> pd.DataFrame:
    """Rows that name a lot and wait at intake.

    Parameters
    ----------
    store
        Is read only.
    lot
        Its number.

    Returns
    -------
    DataFrame
        As `Store.held` tells them.
    """
    held = store.held()
    return held[held["lot"] == lot]


def _gathered(store: Store, lot: str, *, printed_by: str, printed_at: datetime) -> LotRecord:
    facts, judged = store.lot(lot), store.verdict(lot)
    results, decided = store.results(lot), store.dispositions(lot)
    held = held_rows_of_lot(store, lot)
    receipts = {facts.receipt, *results["receipt"], *held["receipt"], *decided["receipt"]}
    every = store.receipts()
    chain = store.audit(most=_ALL).sort_values("sequence")
    return LotRecord(
        lot=facts,
        verdict=judged,
        results=results,
        streams=_streams(store, facts, judged),
        calculations=tuple(_calculations(store, results, judged)),
        held=held,
        dispositions=decided,
        audit=chain[chain["subject"].isin({lot, *receipts})],
        sources=every[every["receipt"].isin(receipts)].iloc[::-1],
        void=store.invalidations(lot),
        corrected=store.intake.corrections(lot),
        draws=store.draws(lot),
        attachments=store.attachments(lot),
        requests=store.signing.about(lot),
        judged_under=store.approvals.of_specification(facts.material, judged.specification.version),
        signed_under=signed_versions(store, decided),
        head=_head(chain),
        printed_by=printed_by,
        printed_at=printed_at,
    )


def _deciding(judged: LotVerdict) -> list[tuple[str, str]]:
    """Characteristic and method of every line that was judged on a mean."""
    return [(one.line.characteristic, one.mean.method.method) for one in judged.lines if one.mean]


def _calculations(store: Store, results: pd.DataFrame, judged: LotVerdict) -> Iterable[Calculation]:
    """The first reading of each deciding method, worked out."""
    for characteristic, method in dict.fromkeys(_deciding(judged)):
        mine = (results["characteristic"] == characteristic) & (results["method"] == method)
        result, chain, _ = store.calculation(results.loc[mine, "result"].iloc[0])
        yield Calculation(result=result, chain=chain)


def _streams(store: Store, lot: Lot, judged: LotVerdict) -> tuple[ChartedStream, ...]:
    """The streams of what decided, and any other of our own in which the lot is unusual."""
    survey = store.sweep(material=lot.material, supplier=lot.supplier)
    signals = survey.signals()
    declared = declared_methods(store)
    wanted = [
        *_deciding(judged),
        *(pair for pair in _pairs(signals[signals["lot"] == lot.lot]) if pair[1] not in declared),
    ]
    order = {pair: place for place, pair in reversed(list(enumerate(wanted)))}
    keys = [
        key for key in points_of_lot(survey, lot.lot) if (key.characteristic, key.method) in order
    ]
    keys.sort(key=lambda key: order[key.characteristic, key.method])
    return tuple(stream_held_to(survey, key, _line(judged, key)) for key in keys)


def _line(judged: LotVerdict, key: StreamKey) -> Line | None:
    lines = judged.specification.lines
    return line_among(lines, characteristic=key.characteristic, basis=key.basis)


def _pairs(frame: pd.DataFrame) -> list[tuple[str, str]]:
    return list(zip(frame["characteristic"], frame["method"], strict=True))


def _head(chain: pd.DataFrame) -> tuple[int, str]:
    last = chain.iloc[-1]
    return int(last["sequence"]), str(last["hash"])
