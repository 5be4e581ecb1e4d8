"""What blends that were measured say of the model that predicted them."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import optimize, special

from spc.charts.lots import Scale
from spc.errors import InvalidInput

Floats = NDArray[np.float64]

# Two deviations that agree may do so by luck; nothing is said of the model before the third.
FEWEST_BLENDS: Final = 3
# Standard deviation of a model's bias before any blend was measured, a share: losses of dust,
# uneven mixing and methods that read differently.  Common practice, no source.
PRIOR: Final = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class LearnedBias:
    """How far blends come out from what the model says of them.

    Attributes
    ----------
    scale
        On ``"log"`` the bias is the logarithm of measured over predicted, on ``"linear"`` the
        deviation as a share of what was predicted.
    blends
        How many it rests on.
    bias, standard_uncertainty
        Shrunk towards zero by what was thought possible before; NaN while nothing can be said.
    low, high, confidence
        Interval of the bias.
    scatter
        Standard deviation between blends beyond the uncertainties stated; 0 where they explain it.
    weight
        Share of the evidence in the bias, 0 to 1; the rest is the belief that there is none.
    """

    scale: Scale
    blends: int
    bias: float
    standard_uncertainty: float
    low: float
    high: float
    confidence: float
    scatter: float
    weight: float

    @property
    def can_be_said(self) -> bool:
        """Whether enough blends were measured."""
        return self.blends >= FEWEST_BLENDS

    @property
    def log_shift(self) -> float:
        """The bias as it is added to logarithms of what is predicted; 0 while nothing is said."""
        if not self.can_be_said:
            return 0.0
        return self.bias if self.scale == "log" else math.log1p(self.bias)

    def corrected(self, mean: float, standard_deviation: float) -> tuple[float, float]:
        """The next prediction with the bias in it.

        Parameters
        ----------
        mean, standard_deviation
            What the model alone predicts, in unit.

        Returns
        -------
        mean, standard_deviation
            In the same unit, the second with the uncertainty of the bias; unchanged while nothing
            can be said.
        """
        if not self.can_be_said:
            return mean, standard_deviation
        factor = math.exp(self.bias) if self.scale == "log" else 1.0 + self.bias
        # On log scale a step of the bias is a share of the corrected mean, else of the model's.
        step = abs(mean) * (factor if self.scale == "log" else 1.0)
        return mean * factor, math.hypot(
            standard_deviation * factor, step * self.standard_uncertainty
        )


def with_deviations(frame: pd.DataFrame) -> pd.DataFrame:
    """Predicted against measured, blend by blend.

    Parameters
    ----------
    frame
        One line a blend and characteristic: scale (``"log"`` or ``"linear"``), predicted and
        predicted_sd, learned (the correction in `predicted`, 0 for none), measured and measured_u
        (standard uncertainty); the four figures in unit, NaN where not measured.

    Returns
    -------
    DataFrame
        With three columns more, NaN where not measured or not above zero: deviation (measured
        from what the model alone said: the logarithm of the ratio on log scale, else a share of
        it), deviation_u (its standard uncertainty), and zeta (measured from what was promised, in
        standard uncertainties of the difference).

    References
    ----------
    ISO 13528:2022: zeta scores.
    JCGM 100:2008, 5.1.2 (uncertainty of a ratio).
    """
    log = (frame["scale"] == "log").to_numpy()
    told, told_sd, learned, found, found_u = (
        frame[name].to_numpy(dtype=np.float64)
        for name in ("predicted", "predicted_sd", "learned", "measured", "measured_u")
    )
    positive = (told > 0.0) & (found > 0.0)
    told, found = np.where(positive, told, np.nan), np.where(positive, found, np.nan)
    ratio, relative = found / told, np.hypot(told_sd / told, found_u / found)
    alone = ratio * np.where(log, 1.0, 1.0 + learned)
    off = np.where(log, np.log(ratio), found - told)
    off_u = np.where(log, relative, np.hypot(told_sd, found_u))
    return frame.assign(
        deviation=np.where(log, np.log(ratio) + learned, alone - 1.0),
        deviation_u=relative * np.where(log, 1.0, alone),
        zeta=np.divide(off, off_u, out=np.full(off.size, np.nan), where=off_u > 0.0),
    )


def learned_bias(
    frame: pd.DataFrame, *, prior: float = PRIOR, confidence: float = 0.95
) -> LearnedBias:
    """The model's own bias for one characteristic, from the blends that were measured.

    Parameters
    ----------
    frame
        From `with_deviations`, of one characteristic: characteristic, scale, deviation and
        deviation_u; lines without a deviation are left out.
    prior
        Standard deviation, as a share, of the bias that was thought possible before.
    confidence
        Of the interval.

    Returns
    -------
    LearnedBias
        With NaN, and nothing corrected, below `FEWEST_BLENDS`.

    Raises
    ------
    InvalidInput
        If there are several characteristics, a deviation has no uncertainty above zero, or
        `prior` or `confidence` is no such figure.

    Notes
    -----
    Deviation i is normal about the bias with variance u[i]^2 + scatter^2, and the bias is normal
    about zero with `prior`^2; the product is normal again.  The scatter is the one at which the
    weighted squares about the weighted mean reach their expectation, and zero if they stay below
    it.  What all predictions share, such as the bias of a method, is part of what is learnt;
    as it is counted in the u[i] too, the interval is rather wide than narrow.  Taking the scatter
    as known costs a little: of simulated intervals of 95 %, 93 to 97 % held the bias while the
    scatter was no larger than the u[i], and 86, 90 and 92 % with three, five and ten blends whose
    scatter was twice as large.

    References
    ----------
    Paule, R. C. and Mandel, J. (1982), Journal of Research of the National Bureau of Standards
    87, 377-385: the scatter.
    Gelman, A. et al. (2013), Bayesian Data Analysis, third edition, 2.5 and 5.4: normal data with a
    normal prior.
    """
    _check(frame, prior=prior, confidence=confidence)
    usable = frame[np.isfinite(frame["deviation"].to_numpy(dtype=np.float64))]
    deviation = usable["deviation"].to_numpy(dtype=np.float64)
    uncertainty = usable["deviation_u"].to_numpy(dtype=np.float64)
    scale: Scale = "log" if (frame["scale"] == "log").any() else "linear"
    if deviation.size < FEWEST_BLENDS:
        return _nothing(scale, deviation.size, confidence)
    if not np.all(uncertainty > 0.0):
        raise InvalidInput(
            "a deviation has no uncertainty above zero.",
            where="learned bias",
            remedy="Leave out blends whose prediction and measurement state none.",
        )
    scatter = _scatter(deviation, uncertainty)
    precision = 1.0 / (uncertainty**2 + scatter**2)
    total = float(precision.sum()) + 1.0 / prior**2
    bias, spread = float(precision @ deviation) / total, 1.0 / math.sqrt(total)
    reach = float(special.ndtri((1.0 + confidence) / 2.0)) * spread
    return LearnedBias(
        scale=scale,
        blends=int(deviation.size),
        bias=bias,
        standard_uncertainty=spread,
        low=bias - reach,
        high=bias + reach,
        confidence=confidence,
        scatter=scatter,
        weight=float(precision.sum()) / total,
    )


def _check(frame: pd.DataFrame, *, prior: float, confidence: float) -> None:
    named = sorted(set(frame["characteristic"]))
    if len(named) > 1:
        raise InvalidInput(
            f"{', '.join(named)} were given together.",
            where="learned bias",
            remedy="Learn the bias of one characteristic at a time.",
        )
    for name, figure, highest in (("prior", prior, math.inf), ("confidence", confidence, 1.0)):
        if not 0.0 < figure < highest:
            raise InvalidInput(
                f"a {name} of {figure:g} cannot be used.",
                where="learned bias",
                remedy=f"Give a {name} above 0 and below {highest:g}.",
            )


def _nothing(scale: Scale, blends: int, confidence: float) -> LearnedBias:
    return LearnedBias(
        scale=scale,
        blends=blends,
        bias=math.nan,
        standard_uncertainty=math.nan,
        low=math.nan,
        high=math.nan,
        confidence=confidence,
        scatter=math.nan,
        weight=0.0,
    )


def _scatter(deviation: Floats, uncertainty: Floats) -> float:
    """Spread between blends that the stated uncertainties do not explain."""

    def excess(variance: float) -> float:
        weight = 1.0 / (uncertainty**2 + variance)
        mean = float(weight @ deviation) / float(weight.sum())
        return float(weight @ (deviation - mean) ** 2) - (deviation.size - 1)

    if excess(0.0) <= 0.0:
        return 0.0
    # With this much variance every square is at most its share of the expectation.
    largest = float(np.sum((deviation - deviation.mean()) ** 2))
    return math.sqrt(float(optimize.brentq(excess, 0.0, largest, xtol=1e-18)))
