"""Every operator measures samples of his own: what operators and readings add."""

import math
from dataclasses import dataclass

from numpy.typing import ArrayLike

from spc.compare.spread.variance_components import Components, components


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NestedStudy:
    """Precision from operators or laboratories whose samples are not each other's.

    Attributes
    ----------
    components
        ``"operator"``, ``"sample"`` within operator, and ``"repeatability"``, with intervals.
    mean
        Weighted, in the unit of the readings.
    repeatability_sd, between_sd, reproducibility_sd
        Standard deviation of readings of one sample by one operator, between operators, and of
        readings of one sample by any operator.
    repeatability_degrees, between_degrees
        Degrees of freedom of the first two; NaN where the second is zero.
    operators
        Their number.
    """

    components: Components
    mean: float
    repeatability_sd: float
    between_sd: float
    reproducibility_sd: float
    repeatability_degrees: float
    between_degrees: float
    operators: int


def nested_study(
    value: ArrayLike, operator: ArrayLike, sample: ArrayLike, *, confidence: float = 0.95
) -> NestedStudy:
    """Repeatability and reproducibility where no sample is measured by two operators.

    Parameters
    ----------
    value : shape (readings,)
        In any unit; logarithms where spreads are relative.
    operator, sample : shape (readings,)
        Codes; a sample's code means something within its operator only.  Any numbers of each.
    confidence
        Of the components' intervals.

    Returns
    -------
    NestedStudy

    Raises
    ------
    InvalidInput
        If lengths differ, a value is not finite, or there are too few operators, samples of an
        operator or readings of a sample to tell the three apart.

    Notes
    -----
    Differences between operators are seen through differences between their samples, so that it
    takes more readings than a crossed study, and no interaction can be told.

    References
    ----------
    ISO 5725-3, fully nested experiments.
    Patterson, H. D. and Thompson, R. (1971), Biometrika 58, 545-554.
    """
    found = components(
        value,
        {"operator": operator, "sample": sample},
        residual="repeatability",
        confidence=confidence,
    )
    between, within = found.sd_of("operator"), found.sd_of("repeatability")
    found.sd_of("sample")
    return NestedStudy(
        components=found,
        mean=found.mean,
        repeatability_sd=within,
        between_sd=between,
        reproducibility_sd=math.hypot(between, within),
        repeatability_degrees=float(found.effective_degrees[2]),
        between_degrees=float(found.effective_degrees[0]),
        operators=int(found.groups[0]),
    )
