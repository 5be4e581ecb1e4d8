"""What a supplier's scorecard is made from: gathered once, with nothing left to look up."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

import pandas as pd

from spc.acceptance import Line
from spc.answers import stream_capability
from spc.answers.charted_streams import stream_held_to
from spc.answers.specified_lines import HEAT
from spc.answers.suppliers import compare_suppliers
from spc.answers.suppliers_compared import SuppliersCompared
from spc.capability import Capability, Withheld
from spc.compare.between_suppliers.shares import CountedShare, counted_share
from spc.errors import InvalidInput, UnknownName
from spc.store import Store, StreamKey
from spc.store.lots.lots import WAITING


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MaterialCard:
    """One material of one supplier.

    Attributes
    ----------
    lots
        How many lots of it were delivered.
    compared
        Its suppliers compared by their heat; a sentence where that cannot be.
    points, signals
        Of the supplier's stream that the comparison rests on, from a survey.
    line
        The specification's line on it; None where there is none on its basis.
    capability
        How the stream fits its limits, or why nobody should say; None without limits.
    """

    material: str
    lots: int
    compared: SuppliersCompared | str
    points: pd.DataFrame
    signals: pd.DataFrame
    line: Line | None
    capability: Capability | Withheld | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SupplierCard:
    """Everything that is known of one supplier at one moment.

    Attributes
    ----------
    country
        Empty where it is not known.
    lots
        All of its lots in order of receipt, with their latest decision.
    accepted
        Lots accepted without condition, of those decided; None where none is decided.
    materials
        The one with most lots first.
    investigations
        Those that are open, newest first.
    not_accepted
        Lots whose latest decision is another than accepted, with its day, person and reason.
    printed_at
        UTC, or with its zone.
    """

    supplier: str
    country: str
    lots: pd.DataFrame
    accepted: CountedShare | None
    materials: tuple[MaterialCard, ...]
    investigations: pd.DataFrame
    not_accepted: pd.DataFrame
    printed_by: str
    printed_at: datetime


def card_of_supplier(
    store: Store, supplier: str, *, printed_by: str, printed_at: datetime
) -> SupplierCard:
    """What the store knows of one supplier, all of it from one state.

    Parameters
    ----------
    store
        Is read only.
    supplier
        Its name.
    printed_by
        Who asks for the scorecard.
    printed_at
        When; UTC, or with its zone.

    Returns
    -------
    SupplierCard

    Raises
    ------
    UnknownName
        If no lot of such a supplier is known.
    """
    while True:
        before = store.revision()
        card = _gathered(store, supplier, printed_by=printed_by, printed_at=printed_at)
        # Every write lengthens the chain; what was read across one would not belong together.
        if store.revision() == before:
            return card


def _gathered(
    store: Store, supplier: str, *, printed_by: str, printed_at: datetime
) -> SupplierCard:
    every = store.lots()
    lots = every[every["supplier"] == supplier].reset_index(drop=True)
    if lots.empty:
        raise UnknownName("supplier", supplier, known=sorted(set(every["supplier"])))
    decided = lots[~lots["decision"].isin(WAITING)]
    accepted = int((decided["decision"] == "accepted").sum())
    known = [one for one in store.catalogue().suppliers if one.supplier == supplier]
    return SupplierCard(
        supplier=supplier,
        country=known[0].country if known else "",
        lots=lots,
        accepted=counted_share(accepted, len(decided)) if len(decided) else None,
        materials=tuple(
            _material(store, str(material), supplier, int(number))
            for material, number in lots["material"].value_counts().items()
        ),
        investigations=_open_investigations(store, supplier),
        not_accepted=_not_accepted(store, lots),
        printed_by=printed_by,
        printed_at=printed_at,
    )


def _material(store: Store, material: str, supplier: str, lots: int) -> MaterialCard:
    survey = store.sweep(material=material, supplier=supplier)
    compared = _compared(store, material)
    key = StreamKey(
        material=material,
        supplier=supplier,
        characteristic=HEAT,
        method="" if isinstance(compared, str) else compared.found.method,
        basis="" if isinstance(compared, str) else compared.found.basis,
    )
    line = None if isinstance(compared, str) else compared.line
    stream = stream_held_to(survey, key, line)
    points, signals = stream.points, stream.signals
    fits = line is not None and line.requirement == "average" and not points.empty
    return MaterialCard(
        material=material,
        lots=lots,
        compared=compared,
        points=points,
        signals=signals,
        line=line,
        capability=stream_capability.capability_of_stream(points, signals, line)
        if fits and line
        else None,
    )


def _compared(store: Store, material: str) -> SuppliersCompared | str:
    try:
        return compare_suppliers(store, material, HEAT)
    except (UnknownName, InvalidInput) as problem:
        return f"{problem.what} {problem.remedy}"


def _open_investigations(store: Store, supplier: str) -> pd.DataFrame:
    found = pd.concat(list(_investigations(store, supplier)), ignore_index=True)
    still = found[found["closed_by"] == ""]
    return still.sort_values("opened_at", ascending=False, ignore_index=True)


def _investigations(store: Store, supplier: str) -> Iterator[pd.DataFrame]:
    for key in store.stream_keys():
        if key.supplier == supplier:
            yield store.investigations(key)


def _not_accepted(store: Store, lots: pd.DataFrame) -> pd.DataFrame:
    """Lots held, rejected or let through with a condition, newest decision first."""
    latest = store.dispositions().drop_duplicates("lot", keep="last")
    other = latest[latest["decision"] != "accepted"]
    columns = ["lot", "decision", "decided_at", "decided_by", "reason"]
    joined = lots[["lot", "material", "received_at"]].merge(other[columns], on="lot", how="inner")
    return joined.sort_values("decided_at", ascending=False, kind="stable", ignore_index=True)
