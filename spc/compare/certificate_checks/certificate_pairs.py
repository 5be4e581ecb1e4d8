"""Certificates beside own results, lot by lot, on the scale they are compared on."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final, Self

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from spc.charts import on_log_scale
from spc.charts.lots import Scale
from spc.errors import InvalidInput, TooFewLots

Floats = NDArray[np.float64]
Table = pd.DataFrame | Mapping[str, ArrayLike]

REQUIRED: Final = ("declared", "own", "own_uncertainty")
FEWEST_PAIRS: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CertificatePairs:
    """What certificates declare and what was found, in order of time.

    Attributes
    ----------
    scale
        Of `declared_worked` and `own_worked`: the values, or their natural logarithms.
    lot : shape (lots,)
        Lot numbers.
    day : shape (lots,)
        When, in days from any beginning; NaN throughout where it is not known.
    declared, own : shape (lots,)
        In unit.
    declared_worked, own_worked : shape (lots,)
        The same on `scale`.
    declared_uncertainty, own_uncertainty : shape (lots,)
        Standard uncertainties on `scale`, so shares on log scale; NaN where not stated.
    own_sampling : shape (lots,)
        The part of `own_uncertainty` that differs from lot to lot, from the samples drawn; NaN
        where it is not known apart.
    printed : tuple of str
        The declared values as printed.
    """

    scale: Scale
    lot: NDArray[np.str_]
    day: Floats
    declared: Floats
    own: Floats
    declared_worked: Floats
    own_worked: Floats
    declared_uncertainty: Floats
    own_uncertainty: Floats
    own_sampling: Floats
    printed: tuple[str, ...]

    @property
    def difference(self) -> Floats:
        """Declared less own on `scale`: on log scale the log ratio; NaN without own result."""
        return self.declared_worked - self.own_worked

    def paired(self) -> Self:
        """Those lots that have an own result too."""
        return self.taken(np.isfinite(self.own))

    def taken(self, lots: NDArray[np.bool_] | NDArray[np.int64]) -> Self:
        """Some of the lots: those marked, or those at the places given, in their order."""
        arrays = {
            name: getattr(self, name)[lots]
            for name in self.__slots__
            if isinstance(getattr(self, name), np.ndarray)
        }
        printed = tuple(np.array(self.printed, dtype=np.str_)[lots].tolist())
        return replace(self, printed=printed, **arrays)


def certificate_pairs(frame: Table, *, scale: Scale) -> CertificatePairs:
    """Read a table of certificates and own results; lots without a declared value are left out.

    Parameters
    ----------
    frame
        One row a lot.  ``declared``, ``own`` and ``own_uncertainty``; where known also
        ``declared_uncertainty``, ``own_sampling``, ``day``, ``lot`` and ``printed``, the declared
        values as plain decimals in the same unit ("41300", "9.40").  Uncertainties are standard
        ones, in unit, on log scale shares.  A value that is missing is NaN.
    scale
        On which values are compared.

    Returns
    -------
    CertificatePairs
        In order of day, or as given.

    Raises
    ------
    TooFewLots
        If fewer than three lots have both values.
    NotPositive
        If a value on log scale is zero or negative.
    InvalidInput
        If a column is missing, of another length, infinite or negative where it must not be, or
        the scale is unknown.
    """
    _check(frame, scale)
    columns = {name: _column(frame, name) for name in (*REQUIRED, *_OPTIONAL)}
    size = columns["declared"].size
    pairs = CertificatePairs(
        scale=scale,
        lot=_texts(frame, "lot", [str(place) for place in range(1, size + 1)]),
        declared_worked=_worked(columns["declared"], scale),
        own_worked=_worked(columns["own"], scale),
        printed=tuple(_texts(frame, "printed", _shortest(columns["declared"])).tolist()),
        **columns,
    )
    order = np.argsort(pairs.day, kind="stable")
    pairs = pairs.taken(order[np.isfinite(pairs.declared[order])])
    both = int(np.isfinite(pairs.own).sum())
    if both < FEWEST_PAIRS:
        raise TooFewLots(needed=FEWEST_PAIRS, given=both, where="certificates")
    return pairs


_OPTIONAL: Final = ("declared_uncertainty", "own_sampling", "day")


def _check(frame: Table, scale: str) -> None:
    if scale not in ("linear", "log"):
        raise _refused(f"scale {scale!r} is not known.", 'Use "linear" or "log".')
    absent = [name for name in REQUIRED if name not in frame]
    if absent:
        raise _refused(f"there is no column {', '.join(absent)}.", "Add it to the table.")


def _column(frame: Table, name: str) -> Floats:
    size = np.size(frame["declared"])
    if name not in frame:
        return np.full(size, np.nan)
    values = np.asarray(frame[name], dtype=np.float64)
    if values.shape != (size,):
        raise _refused(f"{name} has {values.size} rows, and declared {size}.", "Give one a lot.")
    if np.any(np.isinf(values)):
        raise _refused(f"{name} holds an infinity.", "Leave out values that are only bounds.")
    if name == "day" and np.isnan(values).any():
        raise _refused("a lot has no day.", "Give each lot its day, or none.")
    if name not in ("declared", "own", "day") and np.any(values < 0.0):
        raise _refused(f"{name} holds a value below zero.", "Give uncertainties of zero or more.")
    return values


def _worked(values: Floats, scale: Scale) -> Floats:
    if scale == "linear":
        return values
    known = np.isfinite(values)
    worked = np.full(values.size, np.nan)
    worked[known] = on_log_scale(values[known])
    return worked


def _texts(frame: Table, name: str, otherwise: list[str]) -> NDArray[np.str_]:
    texts = np.asarray(frame.get(name, otherwise)).astype(np.str_)
    if texts.shape != (len(otherwise),):
        raise _refused(
            f"{name} has {texts.size} rows, and declared {len(otherwise)}.", "Give one a lot."
        )
    return texts


def _shortest(values: Floats) -> list[str]:
    """The shortest decimals that give the values back."""
    return [np.format_float_positional(value, trim="-") for value in values]


def _refused(what: str, remedy: str) -> InvalidInput:
    return InvalidInput(what, where="certificates", remedy=remedy)
