"""What the mean of one lot is uncertain by: bags, tests, laboratories and the method."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.compare.spread.variance_components import Components
from spc.errors import InvalidInput

Floats = NDArray[np.float64]

# In the order of `variances`.
PARTS: Final = ("bag", "test", "laboratory", "method")


@dataclass(frozen=True, slots=True, kw_only=True)
class SamplingDesign:
    """How a lot is sampled and tested: every laboratory tests every bag.

    Attributes
    ----------
    bags
        From which a sample is drawn.
    tests
        Of each sample in each laboratory.
    laboratories
        That test.
    """

    bags: int
    tests: int
    laboratories: int = 1

    def __post_init__(self) -> None:
        if min(self.bags, self.tests, self.laboratories) < 1:
            raise InvalidInput(
                f"{self.bags} bags, {self.tests} tests and {self.laboratories} laboratories"
                " measure nothing.",
                where="sampling design",
                remedy="Give at least one of each.",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Prices:
    """What sampling and testing cost, in one currency.

    Attributes
    ----------
    bag
        Of drawing and preparing one sample.
    test
        Of one test of one sample.
    laboratory
        Of every laboratory beyond the first, beside its tests: shipment and handling.
    """

    bag: float
    test: float
    laboratory: float = 0.0

    def __post_init__(self) -> None:
        if not (0.0 <= self.bag < math.inf and 0.0 < self.test < math.inf) or not (
            0.0 <= self.laboratory < math.inf
        ):
            raise InvalidInput(
                f"prices of {self.bag:g} a bag, {self.test:g} a test and {self.laboratory:g} a"
                " laboratory cannot be weighed.",
                where="prices",
                remedy="Give a price of a test above zero, and none below.",
            )

    def of(self, bags: ArrayLike, tests: ArrayLike, laboratories: ArrayLike) -> Floats:
        """Of whole designs.

        Parameters
        ----------
        bags, tests, laboratories
            Numbers as in `SamplingDesign`, arrays that broadcast.

        Returns
        -------
        array of their common shape
        """
        b, r, m = (np.asarray(one, dtype=np.float64) for one in (bags, tests, laboratories))
        return np.asarray(b * self.bag + b * r * m * self.test + (m - 1.0) * self.laboratory)


@dataclass(frozen=True, slots=True, kw_only=True)
class SamplingSpread:
    """Standard deviations that make the mean of a lot uncertain, in one unit or in logs.

    Attributes
    ----------
    bag
        Between the bags of one lot.
    test
        Between tests of one sample in one laboratory.
    laboratory
        Between laboratories that use one method: each reads all lots a little high or low.
    method
        Standard uncertainty of the method itself, which laboratories share.
    bag_interval, test_interval, laboratory_interval
        Of the first three, where they are estimates.
    """

    bag: float
    test: float
    laboratory: float = 0.0
    method: float = 0.0
    bag_interval: tuple[float, float] | None = None
    test_interval: tuple[float, float] | None = None
    laboratory_interval: tuple[float, float] | None = None

    def __post_init__(self) -> None:
        ends = (self.bag_interval, self.test_interval, self.laboratory_interval)
        given = [self.bag, self.test, self.laboratory, self.method]
        given += [end for interval in ends if interval is not None for end in interval]
        if not all(0.0 <= one < math.inf for one in given):
            raise InvalidInput(
                f"standard deviations {', '.join(f'{one:g}' for one in given)} are not possible.",
                where="sampling spread",
                remedy="Give every one as a finite number of zero or more.",
            )

    def variances(
        self,
        bags: ArrayLike,
        tests: ArrayLike,
        laboratories: ArrayLike,
        *,
        bags_in_lot: int | None = None,
    ) -> Floats:
        """Parts of the variance of a lot's mean, in the order of `PARTS`.

        Parameters
        ----------
        bags, tests, laboratories
            Numbers as in `SamplingDesign`, arrays that broadcast.
        bags_in_lot
            How many there are; None for a loose or very large lot.

        Returns
        -------
        array of shape (4, ...)

        Notes
        -----
        A lot whose bags are all sampled has nothing left between them: bag² (1/b - 1/B).

        References
        ----------
        Cochran, W. G. (1977), Sampling Techniques, 10.3: two-stage sampling.
        """
        b, r, m = np.broadcast_arrays(
            np.asarray(bags, dtype=np.float64),
            np.asarray(tests, dtype=np.float64),
            np.asarray(laboratories, dtype=np.float64),
        )
        unseen = 1.0 / b - (0.0 if bags_in_lot is None else 1.0 / bags_in_lot)
        parts = (
            self.bag**2 * unseen,
            self.test**2 / (b * r * m),
            self.laboratory**2 / m,
            np.full(b.shape, self.method**2),
        )
        return np.stack(parts)


def sampling_spread(
    components: Components,
    *,
    bag: str = "sample",
    test: str = "replicate",
    laboratory: str | None = None,
    method: float = 0.0,
) -> SamplingSpread:
    """The spreads that matter for one lot, taken from estimated variance components.

    Parameters
    ----------
    components
        Of lots, samples and replicates.
    bag, test, laboratory
        Names of the components that stand for bags, tests, and laboratories.
    method
        Standard uncertainty of the method, which no component of a study by this method shows.

    Returns
    -------
    SamplingSpread
        With the components' intervals.

    Raises
    ------
    InvalidInput
        If there is no such component, or nothing can be said of it.
    """

    def interval(name: str) -> tuple[float, float]:
        at = components.names.index(name)
        low, high = components.interval_low[at], components.interval_high[at]
        return math.sqrt(low), math.sqrt(high)

    return SamplingSpread(
        bag=components.sd_of(bag),
        test=components.sd_of(test),
        laboratory=0.0 if laboratory is None else components.sd_of(laboratory),
        method=method,
        bag_interval=interval(bag),
        test_interval=interval(test),
        laboratory_interval=None if laboratory is None else interval(laboratory),
    )
