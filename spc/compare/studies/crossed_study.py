"""Every operator or sensor measures every sample: what each adds to the spread of readings."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.charts.refusals import ROUNDING, refuse_outside, refuse_unfinished
from spc.compare.spread.group_codes import coded
from spc.compare.spread.mean_square_intervals import MeanSquare, difference_interval, sum_interval
from spc.errors import InvalidInput

Floats = NDArray[np.float64]

# Four that add up, and the two sums that matter.
PARTS: Final = (
    "sample",
    "operator",
    "interaction",
    "repeatability",
    "reproducibility",
    "total",
)
SOURCES: Final = PARTS[:4]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CrossedStudy:
    """Parts of the variance of readings of samples by operators.

    Attributes
    ----------
    samples, operators
        Names.
    replicates
        Readings of each sample by each operator.
    mean
        Of all readings, in their unit.
    variance, sd : shape (6,)
        In the order of `PARTS`: between samples, between operators, of operators that differ on
        some samples more than on others, within one operator and sample; then the sum of all but
        the first (any operator, one sample), and of all.
    share : shape (6,)
        Of the total variance.
    interval_low, interval_high : shape (6,)
        Of `variance`, at `confidence`.
    floored : bool, shape (4,)
        Whether the estimate was below zero and is shown as zero.
    mean_squares, degrees : shape (4,)
        Of the analysis of variance, in the order of `SOURCES`.
    confidence
        Of the intervals.
    """

    samples: tuple[str, ...]
    operators: tuple[str, ...]
    replicates: int
    mean: float
    variance: Floats
    sd: Floats
    share: Floats
    interval_low: Floats
    interval_high: Floats
    floored: NDArray[np.bool_]
    mean_squares: Floats
    degrees: NDArray[np.int64]
    confidence: float


def crossed_study(
    value: ArrayLike, sample: ArrayLike, operator: ArrayLike, *, confidence: float = 0.95
) -> CrossedStudy:
    """Repeatability, reproducibility and interaction from a study where all measure all.

    Parameters
    ----------
    value : shape (readings,)
        In any unit; logarithms where spreads are relative.
    sample, operator : shape (readings,)
        Codes; every operator has measured every sample equally often, at least twice.
    confidence
        Of the intervals.

    Returns
    -------
    CrossedStudy

    Raises
    ------
    InvalidInput
        If lengths differ, a value is not finite, there are fewer than two samples or operators,
        numbers of readings differ or are below two, all readings of every cell are equal, or
        `confidence` is not between 0 and 1.

    Notes
    -----
    Analysis of variance with samples and operators drawn at random.  Reproducibility here is
    that of ISO 5725: the spread of single readings by different operators, repeatability
    included.  The intervals are modified large sample; where a part is shown as zero they are
    widened to hold the sums that are shown.

    References
    ----------
    Searle, S. R., Casella, G. and McCulloch, C. E. (1992), Variance Components, section 4.3.
    Burdick, R. K., Borror, C. M. and Montgomery, D. C. (2003), Journal of Quality Technology 35,
    342-354.
    """
    refuse_outside(confidence, 0.0, 1.0, name="confidence", where="crossed_study")
    table, samples, operators = _table(value, sample, operator)
    squares = _mean_squares(table)
    parts = _differences(squares, table.shape)
    variance = np.maximum(0.0, parts)
    variance = np.append(variance, (variance[1:].sum(), variance.sum()))
    low, high = np.array(_intervals(squares, table.shape, confidence)).T
    return CrossedStudy(
        samples=samples,
        operators=operators,
        replicates=table.shape[2],
        mean=float(table.mean()),
        variance=variance,
        sd=np.sqrt(variance),
        share=variance / variance[-1],
        interval_low=np.clip(low, 0.0, variance),
        interval_high=np.maximum(high, variance),
        floored=parts < 0.0,
        mean_squares=np.array([one.value for one in squares]),
        degrees=np.array([one.degrees for one in squares]),
        confidence=confidence,
    )


def _table(
    value: ArrayLike, sample: ArrayLike, operator: ArrayLike
) -> tuple[Floats, tuple[str, ...], tuple[str, ...]]:
    """Readings as an array of shape (samples, operators, replicates)."""
    values = np.asarray(value, dtype=np.float64)
    if values.ndim != 1:
        raise _refused(
            f"readings have {values.ndim} dimensions, not one.", "Give one value a reading."
        )
    refuse_unfinished(values, where="crossed_study")
    samples, row = coded(sample, values.size, name="sample", where="crossed_study")
    operators, column = coded(operator, values.size, name="operator", where="crossed_study")
    if min(len(samples), len(operators)) < 2:
        raise _refused(
            f"{len(samples)} samples by {len(operators)} operators show no difference.",
            "Let at least two operators measure at least two samples.",
        )
    cell = row * len(operators) + column
    counts = np.bincount(cell, minlength=len(samples) * len(operators))
    odd = np.flatnonzero(counts != counts[0])
    if odd.size or counts[0] < 2:
        at = int(odd[0]) if odd.size else 0
        raise _refused(
            f"operator {operators[at % len(operators)]} has {counts[at]} readings of sample"
            f" {samples[at // len(operators)]}, the first cell has {counts[0]}.",
            "Measure every sample equally often with every operator, at least twice, or leave out"
            " the samples that are not complete.",
        )
    shape = (len(samples), len(operators), int(counts[0]))
    return values[np.argsort(cell, kind="stable")].reshape(shape), samples, operators


def _mean_squares(table: Floats) -> tuple[MeanSquare, ...]:
    """Of samples, operators, their interaction, and within cells."""
    p, o, r = table.shape
    off = table - table.mean()
    cells, samples, operators = off.mean(axis=2), off.mean(axis=(1, 2)), off.mean(axis=(0, 2))
    left = cells - samples[:, None] - operators
    sums = (
        o * r * float(samples @ samples),
        p * r * float(operators @ operators),
        r * float(np.square(left).sum()),
        float(np.square(off - cells[:, :, None]).sum()),
    )
    degrees = (p - 1, o - 1, (p - 1) * (o - 1), p * o * (r - 1))
    if sums[3] <= table.size * (ROUNDING * np.abs(table).max()) ** 2:
        raise _refused(
            "the readings of every operator and sample are all equal.",
            "Check whether they were copied or rounded.",
        )
    return tuple(
        MeanSquare(value=total / freedom, degrees=freedom)
        for total, freedom in zip(sums, degrees, strict=True)
    )


def _differences(squares: tuple[MeanSquare, ...], shape: tuple[int, ...]) -> Floats:
    """The four components, as they come out."""
    p, o, r = shape
    samples, operators, interaction, within = (one.value for one in squares)
    return np.array(
        [
            (samples - interaction) / (o * r),
            (operators - interaction) / (p * r),
            (interaction - within) / r,
            within,
        ]
    )


def _intervals(
    squares: tuple[MeanSquare, ...], shape: tuple[int, ...], confidence: float
) -> list[tuple[float, float]]:
    """Of the six parts, from how each is made of mean squares."""
    p, o, r = shape
    samples, operators, interaction, within = squares

    def difference(one: MeanSquare, other: MeanSquare, share: float) -> tuple[float, float]:
        return difference_interval(one.weighed(share), other.weighed(share), confidence=confidence)

    def total(*weights: float) -> tuple[float, float]:
        terms = [one.weighed(w) for one, w in zip(squares, weights, strict=True) if w > 0.0]
        return sum_interval(*terms, confidence=confidence)

    return [
        difference(samples, interaction, 1.0 / (o * r)),
        difference(operators, interaction, 1.0 / (p * r)),
        difference(interaction, within, 1.0 / r),
        total(0.0, 0.0, 0.0, 1.0),
        total(0.0, 1.0 / (p * r), (p - 1.0) / (p * r), (r - 1.0) / r),
        total(1.0 / (o * r), 1.0 / (p * r), (p * o - p - o) / (p * o * r), (r - 1.0) / r),
    ]


def _refused(what: str, remedy: str) -> InvalidInput:
    return InvalidInput(what, where="crossed_study", remedy=remedy)
