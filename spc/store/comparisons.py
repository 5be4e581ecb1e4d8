"""What of one characteristic of a material can be compared: own results, certificates, prices."""

import re
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spc.charts.lots import EXACT, Scale
from spc.errors import UnknownName
from spc.intake.corrections import in_force
from spc.store import corrections, lots, surveys
from spc.store.connection import Cursor

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

# The bias that a method was known to have when a lot was measured; of several readings, the first.
BIASES: Final = """
    select
        lot,
        arg_min(bias, result)                           as bias,
        arg_min(uncertainty_kind, result) = 'relative'  as relative
    from current_result
    join method using (method, characteristic)
    where characteristic = $characteristic
      and method         = $method
      and basis          = $basis
      and method.version = method_version
    group by lot
"""

METHODS: Final = """
    select method, standing, uncertainty_kind, standard_uncertainty, repeatability
    from method
    where characteristic = $characteristic
    qualify row_number() over (partition by method order by version desc) = 1
    order by method
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
    mine = points[points["characteristic"] == characteristic]
    described = cursor.execute(METHODS, {"characteristic": characteristic}).df()
    described = described.set_index("method")
    own = mine[~mine["method"].isin(described.index[described["standing"] == "declared"])]
    if own.empty:
        known = sorted(set(points["characteristic"]))
        raise UnknownName("comparable characteristic", characteristic, known=known)
    measured = own.groupby(["method", "basis"])["lot"].nunique()
    method, basis = (str(name) for name in measured.index[int(measured.argmax())])
    chosen = own[(own["method"] == method) & (own["basis"] == basis)]
    exact = chosen[(chosen["censored"] == EXACT).to_numpy()]
    head = chosen.iloc[0]
    scale: Scale = "log" if head["scale"] == "log" else "linear"
    of_lots = _of_lots(cursor, exact, described.T[method], scale)
    printed = cursor.execute(PRINTED, {"characteristic": characteristic}).df()
    return Comparable(
        material=material,
        characteristic=characteristic,
        method=method,
        basis=basis,
        unit=str(head["unit"]),
        scale=scale,
        lots=of_lots,
        declared=_declared(mine[mine["basis"] == basis], of_lots, described, printed),
        left_out=len(chosen) - len(exact),
    )


def _of_lots(cursor: Cursor, exact: pd.DataFrame, method: pd.Series, scale: Scale) -> pd.DataFrame:
    columns = ["lot", "supplier", "received_at", "crop_year", "value", "spread", "samples"]
    frame = exact[[*columns, "readings"]].assign(value=_corrected(cursor, exact))
    within = _within(exact, method, scale)
    frame["sampling"] = within / np.sqrt(frame["samples"].to_numpy(dtype=np.float64))
    own = _on_scale(method, frame["value"].to_numpy(), scale)
    frame["uncertainty"] = np.hypot(frame["sampling"], own)
    facts = ["lot", "price_per_kg", "currency", "packages", "package_kg", "decision"]
    bought = lots.every(cursor)[facts]
    joined = frame.merge(bought, on="lot", how="left", validate="one_to_one")
    return joined.sort_values(["received_at", "lot"], kind="stable", ignore_index=True)


def _corrected(cursor: Cursor, exact: pd.DataFrame) -> NDArray[np.float64]:
    """Values without the known bias of their method, as each lot's dossier has them.

    A correction that a lot falls under takes the place of the bias that the method states.
    """
    measured = exact["value"].to_numpy(dtype=np.float64)
    value = _unbiased(cursor, exact, measured)
    adopted = corrections.every(cursor)
    if not adopted:
        return value
    for place, row in enumerate(exact.to_dict("records")):
        mine = in_force(
            adopted,
            material=row["material"],
            supplier=row["supplier"],
            day=row["received_at"].date(),
        ).get((row["method"], row["characteristic"]))
        if mine is not None and mine.lowest <= measured[place] <= mine.highest:
            value[place] = mine.correction.apply(float(measured[place]), 0.0).value
    return value


def _unbiased(
    cursor: Cursor, exact: pd.DataFrame, measured: NDArray[np.float64]
) -> NDArray[np.float64]:
    if exact.empty:
        return measured
    by = exact.iloc[0][["characteristic", "method", "basis"]].to_dict()
    known = cursor.execute(BIASES, by).df().set_index("lot").loc[exact["lot"]]
    bias = known["bias"].to_numpy(dtype=np.float64)
    return np.where(known["relative"].to_numpy(), measured / (1.0 + bias), measured - bias)


def _within(exact: pd.DataFrame, method: pd.Series, scale: Scale) -> NDArray[np.float64]:
    """Spread between samples of one lot, of the supplier's lots; at least the repeatability."""
    least = _on_scale(method, exact["value"].to_numpy(), scale, figure="repeatability")
    known = exact["within"].to_numpy(dtype=np.float64)
    return np.where(np.isfinite(known), np.maximum(known, least), least)


def _on_scale(
    method: pd.Series,
    value: NDArray[np.float64],
    scale: Scale,
    *,
    figure: str = "standard_uncertainty",
) -> NDArray[np.float64]:
    """A figure of a method at each value: a share on log scale, else in unit."""
    size, relative = float(method[figure]), method["uncertainty_kind"] == "relative"
    if scale == "log":
        return np.full(value.shape, size) if relative else size / np.abs(value)
    return size * np.abs(value) if relative else np.full(value.shape, size)


def _declared(
    mine: pd.DataFrame, of_lots: pd.DataFrame, described: pd.DataFrame, printed: pd.DataFrame
) -> pd.DataFrame:
    said = mine[
        mine["method"].isin(described.index[described["standing"] == "declared"])
        & (mine["censored"] == EXACT)
    ]
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
        _on_scale(described.loc[name], np.array([value]), "log" if log else "linear")[0]
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
