"""Gather what a report shows, with the store's own calls."""

from collections.abc import Iterable
from datetime import datetime
from typing import Final

import pandas as pd

from spc.acceptance import LotVerdict
from spc.answers.lot_record import Calculation, Charted, LotRecord
from spc.store import Lot, Store, StreamKey, Survey

_ALL: Final = 2**31 - 1


def collect(store: Store, lot: str, *, printed_by: str, printed_at: datetime) -> LotRecord:
    """What is on record of one lot, all of it from one state of the store.

    Parameters
    ----------
    lot
        Its number.
    printed_by
        Who asks for the record.
    printed_at
        When; UTC, or with its zone.

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


def _gathered(store: Store, lot: str, *, printed_by: str, printed_at: datetime) -> LotRecord:
    facts, judged = store.lot(lot), store.verdict(lot)
    results, decided = store.results(lot), store.dispositions(lot)
    held = store.held()
    held = held[held["lot"] == lot]
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
        draws=store.draws(lot),
        attachments=store.attachments(lot),
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


def _streams(store: Store, lot: Lot, judged: LotVerdict) -> tuple[Charted, ...]:
    """The streams of what decided, and any other of our own in which the lot is unusual."""
    survey = store.sweep(material=lot.material, supplier=lot.supplier)
    signals = survey.signals()
    unusual = signals[signals["lot"] == lot.lot]
    declared = {one.method for one in store.catalogue().methods if one.standing == "declared"}
    told = [
        *_deciding(judged),
        *(pair for pair in _pairs(unusual) if pair[1] not in declared),
    ]
    order = {pair: place for place, pair in reversed(list(enumerate(told)))}
    keys = [key for key in _keys(survey, lot.lot) if (key.characteristic, key.method) in order]
    keys.sort(key=lambda key: order[key.characteristic, key.method])
    return tuple(_charted(survey, signals, key, judged) for key in keys)


def _charted(survey: Survey, signals: pd.DataFrame, key: StreamKey, judged: LotVerdict) -> Charted:
    points = survey.of(key)
    limiting = (
        line
        for line in judged.specification.lines
        if line.characteristic == key.characteristic and line.basis in ("", key.basis)
    )
    return Charted(
        key=key,
        points=points,
        signals=signals[signals["stream"] == points["stream"].iloc[0]],
        frozen=key in survey.frozen,
        line=next(limiting, None),
    )


def _keys(survey: Survey, lot: str) -> list[StreamKey]:
    mine = survey.points[survey.points["lot"] == lot]
    names = StreamKey.__dataclass_fields__
    return [StreamKey(**{name: row[name] for name in names}) for row in mine.to_dict("records")]


def _pairs(frame: pd.DataFrame) -> list[tuple[str, str]]:
    return list(zip(frame["characteristic"], frame["method"], strict=True))


def _head(chain: pd.DataFrame) -> tuple[int, str]:
    last = chain.iloc[-1]
    return int(last["sequence"]), str(last["hash"])
