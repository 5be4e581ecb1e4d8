"""What of one characteristic of a material can be compared: own results, certificates, prices."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spc.acceptance import Method
from spc.charts.lots import EXACT, Scale
from spc.errors import UnknownName
from spc.intake.corrections import in_force
from spc.store.blends.made_lot import OWN
from spc.store.catalogue import approvals, corrections
from spc.store.file.cursors import Cursor
from spc.store.lots import gathering, lots
from spc.store.streams import surveys

Floats = NDArray[np.float64]

_PLAIN: Final = re.compile(r"[0-9]+(?:\.[0-9]+)?")

# A lot's certificate as it was printed, and what it says; with several copies, the first.
PRINTED: Final = """
    select
        lot, method, basis,
        arg_min(reading_text, result) as text,
        arg_min(reading, result)      as reading,
        arg_min(value_low, result)    as stated
    from current_result
    join method using (method, characteristic)
    where characteristic = $characteristic
      and method.version  = method_version
      and method.standing = 'declared'
    group by all
"""

# The newest description of the method that any reading of a lot was made by.
VERSIONS: Final = """
    select lot, max(method_version) as version
    from current_result
    where characteristic = $characteristic
      and method         = $method
      and basis          = $basis
    group by lot
"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Comparable:
    """Lots of one material that can be compared on one characteristic.

    Attributes
    ----------
    method, basis
        By which the lots were measured: our method with most lots, on the basis most lots are on.
    lots
        One line a lot that has an exact value, in order of receipt: lot, supplier, received_at,
        crop_year, value, spread, samples, readings, sampling and uncertainty (standard
        uncertainties from the samples alone and with the method's, on the scale: shares on log
        scale), price_per_kg, currency, packages, package_kg, decision.
    declared
        One line a lot that has a certificate on the same basis too: lot, supplier, received_at,
        declared, printed (as it was written, as a plain decimal in the unit), own,
        own_uncertainty and the part of it that comes from the samples alone (own_sampling),
        declared_uncertainty.
    left_out
        Lots whose value is known as a bound only.
    """

    material: str
    characteristic: str
    method: str
    basis: str
    unit: str
    scale: Scale
    lots: pd.DataFrame
    declared: pd.DataFrame
    left_out: int


def comparable(cursor: Cursor, material: str, characteristic: str) -> Comparable:
    """Gather what can be compared.

    Raises
    ------
    UnknownName
        If no own result of the characteristic is known for the material.
    """
    points = surveys.survey(cursor, material=material).points
    # Nobody buys from the house itself.
    points = points[points["supplier"] != OWN]
    mine = points[points["characteristic"] == characteristic]
    described = gathering.methods(cursor)
    newest = {method: one for (method, of, _), one in described.items() if of == characteristic}
    declared = {method: one for method, one in newest.items() if one.standing == "declared"}
    own = mine[~mine["method"].isin(declared)]
    if own.empty:
        known = sorted(set(points["characteristic"]))
        raise UnknownName("comparable characteristic", characteristic, known=known)
    measured = own.groupby(["method", "basis"])["lot"].nunique()
    method, basis = (str(name) for name in measured.index[int(measured.argmax())])
    chosen = own[(own["method"] == method) & (own["basis"] == basis)]
    exact = chosen[(chosen["censored"] == EXACT).to_numpy()]
    head = chosen.iloc[0]
    scale: Scale = "log" if head["scale"] == "log" else "linear"
    value = _corrected(cursor, exact, described)
    of_lots = _of_lots(cursor, exact.assign(value=value), newest[method], scale)
    printed = cursor.execute(PRINTED, {"characteristic": characteristic}).df()
    return Comparable(
        material=material,
        characteristic=characteristic,
        method=method,
        basis=basis,
        unit=str(head["unit"]),
        scale=scale,
        lots=of_lots,
        declared=_declared(mine[mine["basis"] == basis], of_lots, declared, printed),
        left_out=len(chosen) - len(exact),
    )


def _of_lots(cursor: Cursor, exact: pd.DataFrame, method: Method, scale: Scale) -> pd.DataFrame:
    columns = ["lot", "supplier", "received_at", "crop_year", "value", "spread", "samples"]
    frame = exact[[*columns, "readings"]].copy()
    within = _within(exact, method, scale)
    frame["sampling"] = within / np.sqrt(frame["samples"].to_numpy(dtype=np.float64))
    own = _figure(method, method.standard_uncertainty, scale, frame["value"])
    frame["uncertainty"] = np.hypot(frame["sampling"], own)
    facts = ["lot", "price_per_kg", "currency", "packages", "package_kg", "decision"]
    bought = lots.every(cursor)[facts]
    joined = frame.merge(bought, on="lot", how="left", validate="one_to_one")
    return joined.sort_values(["received_at", "lot"], kind="stable", ignore_index=True)


def _corrected(cursor: Cursor, exact: pd.DataFrame, described: gathering.Methods) -> Floats:
    """Values without the known bias of their method, as each lot's dossier has them.

    A correction that a lot falls under takes the place of the bias that the method states.
    """
    value = exact["value"].to_numpy(dtype=np.float64, copy=True)
    if exact.empty:
        return value
    by = exact.iloc[0][["characteristic", "method", "basis"]].to_dict()
    versions = dict(cursor.execute(VERSIONS, by).fetchall())
    adopted = corrections.approved(corrections.every(cursor), approvals.standing(cursor))
    key = by["method"], by["characteristic"]
    for place, row in enumerate(exact.to_dict("records")):
        mine = in_force(
            adopted,
            material=row["material"],
            supplier=row["supplier"],
            day=row["received_at"].date(),
        ).get(key)
        if mine is not None and mine.lowest <= value[place] <= mine.highest:
            value[place] = mine.apply(float(value[place]), 0.0).value
        else:
            value[place] = described[*key, versions[row["lot"]]].unbiased(value[place])
    return value


def _within(exact: pd.DataFrame, method: Method, scale: Scale) -> Floats:
    """Spread between samples of one lot, of the supplier's lots; at least the repeatability."""
    least = _figure(method, method.repeatability, scale, exact["value"])
    known = exact["within"].to_numpy(dtype=np.float64)
    return np.where(np.isfinite(known), np.maximum(known, least), least)


def _figure(method: Method, figure: float, scale: Scale, value: Iterable[float]) -> Floats:
    """A figure of a method at each value: a share on log scale, else in unit."""
    return np.array([method.on_scale(figure, scale=scale, at=one) for one in value])


def _declared(
    mine: pd.DataFrame,
    of_lots: pd.DataFrame,
    declared: Mapping[str, Method],
    printed: pd.DataFrame,
) -> pd.DataFrame:
    said = mine[mine["method"].isin(declared) & (mine["censored"] == EXACT)]
    said = said[["lot", "method", "basis", "scale"]].merge(
        printed, on=["lot", "method", "basis"], how="inner"
    )
    said = said.drop_duplicates("lot")
    texts = [
        _plain(text, reading, stated)
        for text, reading, stated in zip(said["text"], said["reading"], said["stated"], strict=True)
    ]
    said = said.assign(printed=texts, declared=np.array(texts, dtype=np.float64))
    own = of_lots[["lot", "supplier", "received_at", "value", "uncertainty", "sampling"]]
    own = own.rename(
        columns={"value": "own", "uncertainty": "own_uncertainty", "sampling": "own_sampling"}
    )
    both = own.merge(said, on="lot", how="inner", validate="one_to_one")
    doubt = [
        declared[name].on_scale(
            declared[name].standard_uncertainty, scale="log" if log else "linear", at=value
        )
        for name, value, log in zip(
            both["method"], both["declared"], both["scale"] == "log", strict=True
        )
    ]
    columns = ["lot", "supplier", "received_at", "declared", "printed", *own.columns[3:]]
    return both[columns].assign(declared_uncertainty=np.array(doubt, dtype=np.float64))


def _plain(text: str, reading: float, stated: float) -> str:
    """A printed number as a plain decimal in the unit of the characteristic.

    The signs a file groups its digits by are known by the number they were read as.  A value that
    was worked out from what is printed is written with six digits: its last ones say nothing.
    """
    point, comma = (re.sub(f"[^0-9{sign}]", "", text).replace(",", ".") for sign in ".,")
    for plain in (point, comma):
        if _PLAIN.fullmatch(plain) and float(plain) == reading == stated:
            return plain
    return np.format_float_positional(float(f"{stated:.6g}"), trim="-")
