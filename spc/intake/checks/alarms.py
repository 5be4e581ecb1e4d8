"""What rows say against the safety of a lot, whatever becomes of the rows."""

from collections.abc import Iterable
from functools import partial
from typing import Final

import pandas as pd

from spc import units
from spc.acceptance import Line, Specification
from spc.derivation import HEAT_UNIT, derive
from spc.digits import written
from spc.intake.checks.plausible import materials_of, times
from spc.intake.checks.usual import Usual

COLUMNS: Final = ("lot", "characteristic", "sentence")


def alarms(
    results: pd.DataFrame,
    specifications: Iterable[Specification],
    usual: Usual,
    lots: pd.DataFrame,
) -> pd.DataFrame:
    """Values that lie beyond the limit of a line marked safety, one line a value.

    Parameters
    ----------
    results
        As read, not derived; of rows that are held too.
    lots
        What the file itself announces.

    Returns
    -------
    DataFrame
        Columns lot, characteristic, sentence; indexed by source row.

    Notes
    -----
    The newest version of each specification counts; of a lot that nobody knows yet, the lowest
    limit of all.  Heat is no matter of safety.
    """
    found = [pd.DataFrame(columns=list(COLUMNS), index=results.index[:0], dtype="str")]
    for characteristic, limits in _limits(specifications).items():
        mine = _readable(results, characteristic)
        if not mine.empty:
            material = materials_of(mine["lot"], usual, lots).astype("str")
            allowed = material.map(limits).fillna(min(limits.values()))
            found.append(_beyond(mine, allowed))
    return pd.concat(found)


def _beyond(results: pd.DataFrame, allowed: pd.Series) -> pd.DataFrame:
    value = derive(results)["value_low"].to_numpy()
    against = value > allowed.to_numpy()
    found = results[against]
    words = partial(_told, unit=str(results["unit"].iloc[0]))
    told = map(words, found["characteristic"], value[against], allowed[against])
    return pd.DataFrame(
        {
            "lot": found["lot"].astype("str"),
            "characteristic": found["characteristic"].astype("str"),
            "sentence": pd.array(list(told), dtype="str"),
        },
        index=found.index,
    )


def _readable(results: pd.DataFrame, characteristic: str) -> pd.DataFrame:
    """Results of a characteristic whose value follows from the reading and the unit alone."""
    named = (results["characteristic"] == characteristic).to_numpy()
    mine = results[named] if named.any() else results[:0]
    if mine.empty or mine["unit"].iloc[0] == HEAT_UNIT:
        return mine[:0]
    kind = units.measures(str(mine["unit"].iloc[0]))
    leading = [one for one in units.KNOWN if units.measures(one) == kind]
    return mine[mine["reading"].notna() & mine["reading_unit"].isin(leading)]


def _limits(specifications: Iterable[Specification]) -> dict[str, dict[str, float]]:
    """By characteristic and material, the most that a line marked safety allows."""
    newest = {one.material: one for one in sorted(specifications, key=lambda one: one.version)}
    found: dict[str, dict[str, float]] = {}
    for specification in newest.values():
        for line in specification.lines:
            allowed = _allowed(line)
            if line.safety and allowed is not None:
                found.setdefault(line.characteristic, {})[specification.material] = allowed
    return found


def _allowed(line: Line) -> float | None:
    return 0.0 if line.requirement == "absent" else line.upper


def _told(characteristic: str, value: float, allowed: float, unit: str) -> str:
    if allowed <= 0.0:
        return f"{characteristic} was detected {unit}"
    return (
        f"{characteristic} {written(value, unit=unit)} is {times(value / allowed)} what is allowed"
        f" ({written(allowed, unit=unit)})"
    )
