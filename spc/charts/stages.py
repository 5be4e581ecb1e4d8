"""One stream judged stage by stage: each lot by the limits that stood when it came in."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.charts.censored import censored_baseline
from spc.charts.fewlots import guaranteed, prediction
from spc.charts.limits import Limits, individuals, on_log_scale
from spc.charts.lots import ABOVE, BELOW, EXACT, Scale
from spc.charts.rules.patterns import TIE
from spc.charts.rules.rules import DEFAULT_RULES, RULES, run_rules
from spc.errors import InvalidInput, NoSpread, TooFewLots

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
Kind = Literal["moving range", "standard deviation", "prediction", "guaranteed"]

KINDS: Final[tuple[Kind, ...]] = get_args(Kind)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stage:
    """From which lot on which lots say what is usual.

    Attributes
    ----------
    first
        Index of the first lot judged by this stage.
    baseline : bool, shape (lots,)
        The lots its limits rest on.
    restarts
        Whether patterns begin anew, as at a new crop or method; else they run on from the
        stage before, each lot scored by its own limits.
    kind
        How the limits are set; ``"prediction"`` and ``"guaranteed"`` serve with few lots.
    rules
        Names out of `RULES` that signal in this stage.
    """

    first: int
    baseline: Flags
    restarts: bool = False
    kind: Kind = "moving range"
    rules: tuple[str, ...] = DEFAULT_RULES


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Staged:
    """A stream judged stage by stage.

    Attributes
    ----------
    center, sigma : shape (lots,)
        On the scale: in unit, or natural logarithms; NaN where a stage has no limits.
    lower, upper : shape (lots,)
        Control limits in unit.
    size : shape (lots,)
        How many lots the limits of each lot's stage rest on.
    z : shape (lots,)
        Distance from the centre in sigmas, scaled so that a limit lies at 3; NaN where the
        lot is not judged.
    signals : bool, shape (lots, rules)
        In the order of `RULES`.
    """

    center: Floats
    sigma: Floats
    lower: Floats
    upper: Floats
    size: NDArray[np.int64]
    z: Floats
    signals: Flags


def staged(
    value: ArrayLike, censored: ArrayLike, stages: Sequence[Stage], *, scale: Scale
) -> Staged:
    """Judge one stream by its stages.

    Parameters
    ----------
    value : shape (lots,)
        Lot values in order of receipt, or their bounds, in one unit.
    censored : shape (lots,)
        0 exact, 1 the truth lies above `value`, -1 below, 2 both.
    stages
        At least one, the first at lot 0, each later than the one before.
    scale
        ``"log"`` charts logarithms.

    Returns
    -------
    Staged

    Raises
    ------
    InvalidInput
        If there is no stage, they do not begin at 0 and rise, or a kind is not known.
    NotPositive
        If a value on log scale is zero or negative.

    Notes
    -----
    A baseline with censored lots gets its centre and spread by maximum likelihood with the
    bounds as bounds, whatever the kind.  A stage whose baseline has too few lots, or no
    spread, has no limits and no signals; that is stated by NaN, since a new stage always
    begins so.

    References
    ----------
    ISO 7870-2 (individuals); the sources of `prediction`, `guaranteed`, `censored_baseline`.
    """
    values = np.asarray(value, dtype=np.float64)
    worked = on_log_scale(values) if scale == "log" else values
    side = np.asarray(censored, dtype=np.int64)
    which = _stage_of(stages, values.size)
    limits = [_limits(worked, side, stage) for stage in stages]
    center, sigma, lower, upper = (
        np.array([getattr(one, name) for one in limits])[which]
        for name in ("center", "sigma", "lower", "upper")
    )
    size = np.array([one.size for one in limits], dtype=np.int64)[which]
    z = _judged(_scores(worked, center, lower, upper), side)
    wanted = np.array([[rule in stage.rules for rule in RULES] for stage in stages])[which]
    starts = np.array([stage.first for stage in stages if stage.restarts or stage.first == 0])
    signals = run_rules(z, rules=tuple(RULES), starts=starts) & wanted
    shown = np.exp if scale == "log" else np.asarray
    return Staged(
        center=center,
        sigma=sigma,
        lower=np.asarray(shown(lower)),
        upper=np.asarray(shown(upper)),
        size=size,
        z=z,
        signals=signals,
    )


def _stage_of(stages: Sequence[Stage], lots: int) -> NDArray[np.int64]:
    """Number of the stage that judges each lot."""
    firsts = [stage.first for stage in stages]
    unknown = [stage.kind for stage in stages if stage.kind not in KINDS]
    if unknown:
        raise InvalidInput(
            f"there is no kind of limits {unknown[0]!r}.",
            where="stages",
            remedy=f"Use one of: {', '.join(KINDS)}.",
        )
    rising = all(early < late for early, late in pairwise(firsts))
    if not firsts or firsts[0] != 0 or not rising or firsts[-1] >= max(lots, 1):
        raise InvalidInput(
            f"stages that begin at {firsts} do not cover {lots} lots.",
            where="stages",
            remedy="Begin the first at lot 0 and each other at a later lot.",
        )
    return np.searchsorted(firsts, np.arange(lots), side="right") - 1


def _limits(worked: Floats, side: NDArray[np.int64], stage: Stage) -> Limits:
    one_sided = stage.baseline & np.isfinite(worked) & (np.abs(side) <= 1)
    lots = int(one_sided.sum())
    try:
        if np.any(side[one_sided] != EXACT):
            known = censored_baseline(worked[one_sided], side[one_sided], scale="linear")
            return known.limits()
        return _of_kind(worked[one_sided], stage.kind)
    except (TooFewLots, NoSpread):
        nothing = float("nan")
        return Limits(
            center=nothing, sigma=nothing, lower=nothing, upper=nothing, size=lots, width=3.0
        )


def _of_kind(base: Floats, kind: Kind) -> Limits:
    match kind:
        case "prediction":
            return prediction(base)
        case "guaranteed":
            return guaranteed(base)
        case _:
            return individuals(base, sigma=kind)


def _scores(worked: Floats, center: Floats, lower: Floats, upper: Floats) -> Floats:
    """Distances from the centre with the limits at 3, so that every kind obeys the same rules."""
    return np.asarray(3.0 * (worked - center) / ((upper - lower) / 2.0))


def _judged(z: Floats, side: NDArray[np.int64]) -> Floats:
    """A censored lot is a gap, unless its bound lies beyond the limit where the truth lies."""
    told = (side == EXACT) | ((side == ABOVE) & (z > 3.0 + TIE))
    told |= (side == BELOW) & (z < -3.0 - TIE)
    return np.where(told, z, np.nan)
