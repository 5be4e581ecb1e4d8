"""How a characteristic is measured, and how well."""

import math
from dataclasses import dataclass
from typing import Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

from spc.acceptance.specification import Scale

Values = TypeVar("Values", float, NDArray[np.float64])
Standing = Literal["reference", "routine", "declared"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Method:
    """How a characteristic was measured, and how well.

    Attributes
    ----------
    method
        Its name.
    standing
        ``"reference"``, ``"routine"``, or ``"declared"`` (the supplier's word, never ours).
    screening
        Must not decide a line marked safety or reference-method-only.
    relative
        Whether the two figures below are shares of the value or in its unit.
    standard_uncertainty
        Of a lot mean, from everything that more samples do not shrink.
    repeatability
        Standard deviation of repeated readings of one sample.
    bias
        Known deviation from the truth, a share or in unit as the others; lot means are corrected
        for it, and the uncertainty of the correction is part of `standard_uncertainty`.
    correction
        Name of the adopted correction that `bias` comes from, if any.
    """

    method: str
    standing: Standing
    screening: bool
    relative: bool
    standard_uncertainty: float
    repeatability: float
    bias: float = 0.0
    correction: str = ""

    def unbiased(self, value: Values) -> Values:
        """Values in unit without the known bias.

        References
        ----------
        JCGM 100:2008, 3.2.3: a result is corrected for every known systematic effect.
        """
        return value / (1.0 + self.bias) if self.relative else value - self.bias

    def on_scale(self, figure: float, *, scale: Scale, at: float) -> float:
        """One of the method's figures on the scale a line is judged on.

        Parameters
        ----------
        figure
            `standard_uncertainty` or `repeatability`.
        scale
            Of the line.
        at
            Value near which it is wanted, in unit.

        Returns
        -------
        float
            In unit on ``"linear"``, a share on ``"log"``; infinite where `at` has no logarithm.
        """
        if scale == "log":
            return figure if self.relative else figure / at if at > 0.0 else math.inf
        return figure * abs(at) if self.relative else figure
