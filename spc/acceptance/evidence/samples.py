"""What each sample of a lot says on its own, before any average."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spc.acceptance.evidence.evidence import Readings, corrected
from spc.acceptance.evidence.outside import COVERAGE, inside, outside
from spc.acceptance.specification import Line, Scale
from spc.charts.lots import WIDEST_EXACT

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SampleMeans:
    """The mean of each sample of one lot by one method, corrected for the method's bias.

    Attributes
    ----------
    low, high : shape (samples,)
        Ends of each mean in the unit of the readings; equal where no reading is open.
    replicates : shape (samples,)
        How many readings each rests on.
    uncertainty : shape (samples,)
        Standard uncertainty of each on `scale`: that of the method and of its repetition.
    """

    method: str
    unit: str
    scale: Scale
    low: Floats
    high: Floats
    replicates: NDArray[np.int64]
    uncertainty: Floats

    @property
    def size(self) -> int:
        """Number of samples."""
        return int(self.low.size)

    @property
    def exact(self) -> Bools:
        """Which means are numbers: not open, and with a logarithm where one is needed."""
        narrow = np.isclose(self.low, self.high, rtol=WIDEST_EXACT, atol=0.0)
        return np.asarray(
            narrow & np.isfinite(self.high) & ((self.scale == "linear") | (self.low > 0.0)),
            dtype=np.bool_,
        )

    @property
    def on_scale(self) -> Floats:
        """The middle of each exact mean, on `scale`."""
        middle = (self.low[self.exact] + self.high[self.exact]) / 2.0
        return np.asarray(np.log(middle) if self.scale == "log" else middle, dtype=np.float64)

    def outside(self, line: Line) -> Bools:
        """Which samples lie outside the limits, whatever an open reading may be."""
        return outside(line, self.low, self.high)

    def inside(self, line: Line) -> Bools:
        """Which samples lie inside the limits, whatever an open reading may be."""
        return inside(line, self.low, self.high)

    def beyond(self, line: Line) -> Bools:
        """Which samples lie outside by more than their own expanded uncertainty."""
        return outside(line, self.low, self.high, margin=COVERAGE * self.uncertainty)


def sample_means(readings: Readings, *, scale: Scale) -> SampleMeans:
    """Each sample's mean and what is not known of it.

    Parameters
    ----------
    readings
        At least one; the replicates of a sample are neighbours.
    scale
        On ``"log"`` means are geometric and uncertainties shares of them.

    Returns
    -------
    SampleMeans
        In the order of the sample codes.

    References
    ----------
    JCGM 100:2008, 4.2.3 and 5.1.2.
    """
    known = corrected(readings)
    _, starts, counts = np.unique(known.sample, return_index=True, return_counts=True)
    low, high = (_means(ends, starts, counts, scale) for ends in (known.low, known.high))
    at = np.where(np.isfinite(high), (low + np.where(np.isfinite(high), high, low)) / 2.0, low)
    method = known.method
    shared, repeated = (
        np.array([method.on_scale(figure, scale=scale, at=float(value)) for value in at])
        for figure in (method.standard_uncertainty, method.repeatability)
    )
    return SampleMeans(
        method=method.method,
        unit=known.unit,
        scale=scale,
        low=low,
        high=high,
        replicates=counts.astype(np.int64),
        uncertainty=np.hypot(shared, repeated / np.sqrt(counts)),
    )


def _means(
    values: Floats, starts: NDArray[np.intp], counts: NDArray[np.intp], scale: Scale
) -> Floats:
    """Mean of one end of each sample's readings; open as soon as one of them is."""
    opened = np.isinf(np.maximum.reduceat(values, starts))
    finite = np.where(np.isfinite(values), values, 1.0)
    if scale == "linear":
        means = np.add.reduceat(finite, starts) / counts
    else:
        with np.errstate(divide="ignore"):
            logs = np.log(np.maximum(finite, 0.0))
        means = np.exp(np.add.reduceat(logs, starts) / counts)
    return np.asarray(np.where(opened, np.inf, means), dtype=np.float64)
