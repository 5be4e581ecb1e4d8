"""What reaches use, on average, when rejected lots are sorted."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import optimize

STEPS: Final = 512


@dataclass(frozen=True, slots=True, kw_only=True)
class OutgoingLimit:
    """The worst average outgoing quality of a plan (AOQL).

    Attributes
    ----------
    share
        Largest average share nonconforming that goes on to use.
    incoming
        Share nonconforming of incoming lots at which it is reached.
    """

    share: float
    incoming: float


def outgoing_limit(
    outgoing: Callable[[ArrayLike], NDArray[np.float64]], *, lot_size: int | None
) -> OutgoingLimit:
    """The largest value of an average outgoing quality.

    Parameters
    ----------
    outgoing
        Average outgoing quality of an incoming share, vectorised.
    lot_size
        Units in a lot, of which only whole numbers can be nonconforming; None for any share.

    Returns
    -------
    OutgoingLimit
    """
    steps = lot_size or STEPS
    incoming = np.arange(steps + 1) / steps
    # Widely spaced at first: the curve of a small lot has every step, that of a large one a peak.
    best = int(np.argmax(outgoing(incoming)))
    if lot_size is not None:
        return OutgoingLimit(share=float(outgoing(incoming[best])), incoming=float(incoming[best]))
    peak = optimize.minimize_scalar(
        lambda p: -float(outgoing(p)),
        bounds=(float(incoming[max(best - 1, 0)]), float(incoming[min(best + 1, steps)])),
        method="bounded",
        options={"xatol": 1e-12},
    )
    return OutgoingLimit(share=-float(peak.fun), incoming=float(peak.x))
