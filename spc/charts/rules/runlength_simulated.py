"""How many lots pass before run rules signal, by trying it out: for rules no chain can hold."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from spc.charts.rules.rules import RULES, run_rules
from spc.charts.rules.runlength import checked_rules
from spc.errors import InvalidInput

Integers = NDArray[np.int64]

FEWEST_STREAMS: Final = 100
# Lots added to every silent stream at a time.  Each block is judged after the lots that the
# longest rule looks back over, so short blocks judge most lots twice.
BLOCK: Final = 64


@dataclass(frozen=True, slots=True, kw_only=True)
class SimulatedRunLength:
    """An average run length, and what it rests on.

    Attributes
    ----------
    mean
        Average number of lots until the first signal.
    standard_error
        Of `mean`, in lots.
    streams
        Number of streams tried.
    censored
        How many of them had not signalled when they were stopped.
    longest
        Number of lots after which a stream was stopped.
    """

    mean: float
    standard_error: float
    streams: int
    censored: int
    longest: int


def run_length_simulated(
    rules: Sequence[str],
    shift: float = 0.0,
    *,
    width: float = 3.0,
    generator: np.random.Generator,
    streams: int,
    longest: int,
) -> SimulatedRunLength:
    """Average number of lots until the first signal, from simulated streams.

    Parameters
    ----------
    rules
        Names out of `RULES`.
    shift
        Distance of the true mean from the centre line, in sigmas, from the first lot on.
    width
        Distance from centre line to limit, in sigmas, for "beyond limits".
    generator
        Source of the lots; the same state gives the same result.
    streams
        How many streams to try, at least a hundred.
    longest
        After how many lots a silent stream is stopped.

    Returns
    -------
    SimulatedRunLength

    Raises
    ------
    InvalidInput
        If a rule is unknown, `shift` is not finite, `width` is not positive, `streams` is
        below a hundred or `longest` below one, or no stream signals.

    Notes
    -----
    Independent normal lots, judged by `run_rules` itself.  The mean is that of all lots
    over that of signals.  With every stream run to its signal this is the plain average;
    with some stopped it stays right as far as the chance of a signal no longer changes by
    then, and the standard error holds the uncertainty of both numbers.

    References
    ----------
    Champ, C. W. and Woodall, W. H. (1987), Technometrics 29(4), 393-399.
    """
    wanted = checked_rules(rules, shift, width, where="run_length_simulated")
    _check_effort(streams, longest)
    lengths, signalled = _lengths(
        _Trial(rules=wanted, shift=shift, width=width, generator=generator), streams, longest
    )
    signals = int(signalled.sum())
    if signals == 0:
        raise _refused(
            f"none of {streams} streams signalled within {longest} lots.", "Raise `longest`."
        )
    mean = float(lengths.sum()) / signals
    scatter = lengths - mean * signalled
    return SimulatedRunLength(
        mean=mean,
        standard_error=math.sqrt(float(scatter @ scatter)) / signals,
        streams=streams,
        censored=streams - signals,
        longest=longest,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Trial:
    rules: tuple[str, ...]
    shift: float
    width: float
    generator: np.random.Generator

    def signals(self, z: NDArray[np.float64]) -> NDArray[np.bool_]:
        """Whether any rule signals at each lot of each row."""
        starts = np.arange(z.shape[0]) * z.shape[1]
        found = run_rules(z.ravel(), rules=self.rules, starts=starts, width=self.width)
        return np.asarray(found.any(axis=1), dtype=np.bool_).reshape(z.shape)


def _lengths(trial: _Trial, streams: int, longest: int) -> tuple[Integers, NDArray[np.bool_]]:
    """Number of lots of each stream, and whether a signal ended it."""
    lengths, signalled = np.full(streams, longest), np.zeros(streams, dtype=np.bool_)
    look_back = max((RULES[name].span for name in trial.rules), default=1) - 1
    silent, before, passed = np.arange(streams), np.empty((streams, 0)), 0
    while silent.size and passed < longest:
        size = (silent.size, min(BLOCK, longest - passed))
        z = np.hstack((before, trial.generator.normal(trial.shift, 1.0, size=size)))
        new = trial.signals(z)[:, before.shape[1] :]
        ended = np.asarray(new.any(axis=1), dtype=np.bool_)
        lengths[silent[ended]] = passed + new[ended].argmax(axis=1) + 1
        signalled[silent[ended]] = True
        silent, before = silent[~ended], z[~ended, max(z.shape[1] - look_back, 0) :]
        passed += size[1]
    return lengths, signalled


def _check_effort(streams: int, longest: int) -> None:
    if streams < FEWEST_STREAMS:
        raise _refused(f"{streams} streams show no average.", f"Try at least {FEWEST_STREAMS}.")
    if longest < 1:
        raise _refused(f"streams of {longest} lots show nothing.", "Give at least one lot.")


def _refused(what: str, remedy: str) -> InvalidInput:
    return InvalidInput(what, where="run_length_simulated", remedy=remedy)
