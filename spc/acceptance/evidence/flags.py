"""What stands beside a verdict: things a person should know before signing."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from spc.acceptance.evidence.evidence import LotMean, Readings, Within
from spc.acceptance.evidence.slips import likely_slip
from spc.acceptance.specification import Line, Scale
from spc.digits import written

_SLIPPING: Final = "SHU"

NAMES: Final = (
    "unusual for this supplier",
    "certificate disagrees",
    "replicates spread",
    "above calibrated range",
    "possible slip",
    "adverse report",
    "rows held at intake",
    "result overdue",
    "result aged",
    "outlying sample",
    "measured again",
    "control sample off",
    "not corrected",
)
# Holds whatever the material's policy says, so it is none of those above.
AGAINST_SAFETY: Final = "against its safety"


@dataclass(frozen=True, slots=True, kw_only=True)
class Flag:
    """One thing to know before signing.

    Attributes
    ----------
    name
        One of `NAMES`.
    sentence
        What was seen, with its numbers.
    holds
        Whether the material's policy turns an acceptance into a hold for it.
    """

    name: str
    sentence: str
    holds: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """What is known from the other lots of one characteristic by one method.

    Attributes
    ----------
    within
        Spread between samples of one lot, on the scale of the characteristic.
    usual
        Centre of the supplier's baseline, in unit; NaN without one.
    lots
        How many lots the baseline rests on.
    signals
        Names of the run rules that signal at this lot.
    """

    within: Within
    usual: float = math.nan
    lots: int = 0
    signals: tuple[str, ...] = ()


def unusual(characteristic: str, history: History) -> Iterable[Flag]:
    """A run rule signals at this lot.

    Parameters
    ----------
    characteristic
        What the stream is of.
    history
        With the signals and the number of lots of the baseline.

    Returns
    -------
    iterable of Flag
        One at most.
    """
    if history.signals:
        yield Flag(
            name="unusual for this supplier",
            sentence=f"{characteristic} is unusual ({', '.join(history.signals)}),"
            f" against a baseline of {history.lots} lots.",
        )


def certificate(own: LotMean, declared: LotMean) -> Iterable[Flag]:
    """Own result and certificate differ by more than their uncertainties explain.

    Parameters
    ----------
    own, declared
        Lot means in one unit, on one scale and basis.

    Returns
    -------
    iterable of Flag
        One at most.

    Notes
    -----
    Open means are compared at their nearest ends: below 0.5 and below 2 do not disagree.

    References
    ----------
    ISO 13528:2022, E_n score: difference over the root of the summed squares of the expanded
    (k = 2) uncertainties; more than 1 is unexplained.
    """
    difference = _difference(*_nearest_ends(declared, own), own.scale)
    expanded = 2.0 * math.hypot(own.uncertainty, declared.uncertainty)
    if not math.isfinite(difference) or expanded == 0.0 or abs(difference) <= expanded:
        return
    yield Flag(
        name="certificate disagrees",
        sentence=(
            f"{own.characteristic}: the certificate says"
            f" {written(declared.value, unit=own.unit)}, our {own.method.method}"
            f" {written(own.value, uncertainty=own.uncertainty_in_unit, unit=own.unit)}"
            f" (E_n {_signed(difference / expanded)})."
        ),
    )


def above_range(readings: Readings) -> Iterable[Flag]:
    """Readings lie above the calibrated range, so the mean is only bounded.

    Parameters
    ----------
    readings
        Of one method.

    Returns
    -------
    iterable of Flag
        One at most.
    """
    if readings.above_range:
        yield Flag(
            name="above calibrated range",
            sentence=f"{readings.characteristic}: {readings.above_range} of"
            f" {readings.low.size} readings lie above the calibrated range of"
            f" {readings.method.method}; dilute further and measure again.",
        )


def slip(own: LotMean, *, expected: float, by: str) -> Iterable[Flag]:
    """The result stands to what is expected in the ratio of a known slip.

    Parameters
    ----------
    own
        Our result; an open one has no ratio to anything.
    expected
        In the unit of `own`; NaN where nothing is expected.
    by
        Who expects it, in words.

    Returns
    -------
    iterable of Flag
        One at most.

    Notes
    -----
    Only heat has a chain of dilutions and factors to slip in; a contaminant ten times its usual
    content is a contaminant.
    """
    if own.unit != _SLIPPING or own.is_open or not (own.value > 0.0 and 0.0 < expected < math.inf):
        return
    found = likely_slip(own.value, expected)
    if found is not None:
        yield Flag(
            name="possible slip",
            sentence=f"{own.characteristic}: {own.method.method} gives"
            f" {written(own.value, unit=own.unit)}, {by} {written(expected, unit=own.unit)};"
            f" the ratio fits a known slip: {found.cause}. Check {found.check}.",
        )


def adverse(readings: Readings, line: Line) -> Iterable[Flag]:
    """A report that must not decide a safety line speaks against the lot all the same.

    Parameters
    ----------
    readings
        Of a screening method or a certificate.
    line
        Marked safety.

    Returns
    -------
    iterable of Flag
        One at most.
    """
    allowed = 0.0 if line.requirement == "absent" or line.upper is None else line.upper
    against = int((readings.low > allowed).sum())
    if against:
        yield Flag(
            name="adverse report",
            sentence=f"{line.characteristic}: {against} of {readings.low.size} readings by"
            f" {readings.method.method} speak against the lot. They do not decide this line;"
            " have it measured by a reference method before anything is released.",
        )


def with_policy(flags: Iterable[Flag], hold_on: Sequence[str]) -> tuple[Flag, ...]:
    """The flags, each marked with whether it turns an acceptance into a hold.

    Parameters
    ----------
    flags
        Any number; what is said twice is kept once.
    hold_on
        Names of the flags that hold, by the material's policy.

    Returns
    -------
    tuple of Flag
        In their order.
    """
    return tuple(
        Flag(name=one.name, sentence=one.sentence, holds=one.name in hold_on)
        for one in dict.fromkeys(flags)
    )


def _nearest_ends(first: LotMean, second: LotMean) -> tuple[float, float]:
    """Where two means that may be open come nearest; twice the same where they overlap."""
    if first.low > second.high:
        return first.low, second.high
    if first.high < second.low:
        return first.high, second.low
    return 1.0, 1.0


def _signed(number: float) -> str:
    return f"{'−' if number < 0.0 else '+'}{abs(number):.1f}"


def _difference(first: float, second: float, scale: Scale) -> float:
    if scale == "linear":
        return first - second
    return math.log(first / second) if first > 0.0 and second > 0.0 else math.nan
