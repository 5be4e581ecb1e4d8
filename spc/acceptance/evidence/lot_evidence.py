"""Everything that was measured of one lot, with what is known around it."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

from spc.acceptance.evidence.basis import on_basis
from spc.acceptance.evidence.evidence import LotMean, Readings, Within, lot_mean
from spc.acceptance.evidence.flags import History
from spc.acceptance.specification import Line

MOISTURE: Final = "moisture"
_UNKNOWN: Final = History(within=Within(sigma=float("nan"), degrees=0))


# Without slots: the moisture is asked for by every line, and worked out once.
@dataclass(frozen=True, kw_only=True, eq=False)
class LotEvidence:
    """The readings of one lot with what is known around them.

    Attributes
    ----------
    results
        One entry a characteristic, method and basis.
    history
        By characteristic and method: what the supplier's other lots tell.
    planning_cv
        Relative spread between samples to plan with while history is short.
    waiting_days
        Days since receipt; None where the lot does not wait for a decision.
    retests
        By characteristic and method: on how many days beyond the first it was measured.
    """

    results: Sequence[Readings]
    history: Mapping[tuple[str, str], History]
    planning_cv: float | None
    waiting_days: int | None
    retests: Mapping[tuple[str, str], int]

    def of(self, characteristic: str) -> list[Readings]:
        """All readings of a characteristic, certificates too."""
        return [one for one in self.results if one.characteristic == characteristic]

    def own(self, characteristic: str) -> list[Readings]:
        """Our readings of a characteristic; a supplier's word is none."""
        return [one for one in self.of(characteristic) if one.method.standing != "declared"]

    def deciding(self, line: Line) -> list[Readings]:
        """Our readings that may decide a line."""
        return [one for one in self.own(line.characteristic) if may_decide(one, line)]

    def past(self, readings: Readings) -> History:
        """What other lots tell of the same characteristic by the same method."""
        return self.history.get((readings.characteristic, readings.method.method), _UNKNOWN)

    def mean(self, readings: Readings, line: Line) -> LotMean:
        """The lot's mean by one method, on the scale of a line."""
        return lot_mean(
            readings,
            scale=line.scale,
            within=self.past(readings).within,
            planning_cv=self.planning_cv if readings.method.relative else None,
        )

    @cached_property
    def moisture(self) -> LotMean | None:
        """The lot's own moisture by the least uncertain method; None if it was not measured."""
        own = self.own(MOISTURE)
        if not own:
            return None
        line = Line(characteristic=MOISTURE, unit=own[0].unit, scale="linear")
        return min((self.mean(one, line) for one in own), key=lambda mean: mean.uncertainty)

    def on_basis_of(self, line: Line, readings: Iterable[Readings]) -> list[Readings]:
        """Readings on the basis of a line; those that cannot be brought to it are left out."""
        converted = (on_basis(one, line.basis, moisture=self.moisture) for one in readings)
        return [one for one in converted if one is not None]


def may_decide(readings: Readings, line: Line) -> bool:
    """Whether a method is good enough for a line.

    Parameters
    ----------
    readings
        Of our own.
    line
        Marked or not.

    Returns
    -------
    bool
        False for a screening method where the line is marked safety or reference-method-only.
    """
    guarded = line.safety or line.reference_method_only
    return not (guarded and readings.method.screening)
