"""How many lots pass before run rules signal: exactly, where the rules ask for zones only."""

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import sparse, special
from scipy.sparse import linalg

from spc.charts.rules.chains import mean_steps
from spc.charts.rules.rule_states import ORDERED, Memory, memories
from spc.charts.rules.rules import RULES, rule_named
from spc.errors import InvalidInput

Integers = NDArray[np.int64]

# Sets of rules that can stay silent for billions of lots have fewer states than this.
MOST_BY_ELIMINATION: Final = 100
SIGNAL: Final = -1


def run_length(rules: Sequence[str], shift: float = 0.0, *, width: float = 3.0) -> float:
    """Average number of lots until the first signal, exactly.

    Parameters
    ----------
    rules
        Names out of `RULES`, without those of `ORDERED`.
    shift
        Distance of the true mean from the centre line, in sigmas, from the first lot on.
    width
        Distance from centre line to limit, in sigmas, for "beyond limits".

    Returns
    -------
    float
        In lots, the signalling one included; infinite without rules.

    Raises
    ------
    InvalidInput
        If a rule is unknown or compares lots with each other, `shift` is not finite, or
        `width` is not positive.

    Notes
    -----
    Independent normal lots with known centre and sigma, from a stream's first lot on
    (zero state), under the definitions of `run_rules`.  A finite Markov chain: its states
    are what the rules need to know of the recent past, as far as it can be reached without
    a signal.  Ties have no chance in it; the 1e-9 sigma that `run_rules` allows for them
    would change the eighth digit at most.

    References
    ----------
    Champ, C. W. and Woodall, W. H. (1987), Technometrics 29(4), 393-399.
    """
    wanted = checked_rules(rules, shift, width, where="run_length")
    ordered = [name for name in wanted if name in ORDERED]
    if ordered:
        raise InvalidInput(
            f"{ordered[0]!r} depends on the order of the values, which no chain of zones holds.",
            where="run_length",
            remedy="Use charts.run_length_ordered, or leave the rule out.",
        )
    return _run_length(wanted, float(shift), float(width))


def checked_rules(
    rules: Sequence[str], shift: float, width: float, *, where: str
) -> tuple[str, ...]:
    """Each rule once and in the order of `RULES`, refused unless a run length can be asked for.

    Parameters
    ----------
    rules
        Names out of `RULES`.
    shift, width
        As in `run_length`.
    where
        The computation that was asked for.

    Returns
    -------
    tuple of str

    Raises
    ------
    InvalidInput
        If a rule is unknown, `shift` is not finite, or `width` is not positive.
    """
    wanted = {rule_named(name, where=where).name for name in rules}
    if not math.isfinite(shift):
        raise InvalidInput(
            f"a shift of {shift:g} sigmas is not finite.", where=where, remedy="Give a number."
        )
    if not 0.0 < width < math.inf:
        raise InvalidInput(
            f"a width of {width:g} sigmas draws no limits.",
            where=where,
            remedy="Give a positive number, usually 3.",
        )
    return tuple(name for name in RULES if name in wanted)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chain:
    """Every move: from which state, on a lot in which zone, to which state or `SIGNAL`.

    Attributes
    ----------
    edges : shape (zones + 1,)
        Where the zones end, in sigmas from the centre line.
    states
        Number of states.
    source, zone, target : shape (moves,)
    """

    edges: NDArray[np.float64]
    states: int
    source: Integers
    zone: Integers
    target: Integers


@lru_cache
def chain_of(rules: tuple[str, ...], width: float) -> Chain:
    """The chain of the rules, begun in state 0; every state of it can be reached."""
    kept_by = memories(width)
    wanted = [kept_by[name] for name in rules]
    lines = np.array(sorted({line for memory in wanted for line in memory.lines}))
    inner = np.concatenate((lines[:1] - 1.0, (lines[:-1] + lines[1:]) / 2.0, lines[-1:] + 1.0))
    begin = tuple(memory.begin for memory in wanted)
    found: dict[tuple[Hashable, ...] | None, int] = {None: SIGNAL, begin: 0}
    waiting, moves = [begin], []
    while waiting:
        past = waiting.pop()
        for zone, z in enumerate(inner):
            state = _next(wanted, past, z)
            if state is not None and state not in found:
                found[state] = len(found) - 1
                waiting.append(state)
            moves.append((found[past], zone, found[state]))
    source, zones, target = np.array(moves).T
    edges = np.concatenate(([-np.inf], lines, [np.inf]))
    return Chain(edges=edges, states=len(found) - 1, source=source, zone=zones, target=target)


def _next(
    wanted: Sequence[Memory], past: tuple[Hashable, ...], z: float
) -> tuple[Hashable, ...] | None:
    """What the rules know after one more lot; None once one of them has signalled."""
    after = [memory.step(kept, z) for memory, kept in zip(wanted, past, strict=True)]
    return None if any(signals for _, signals in after) else tuple(kept for kept, _ in after)


def zone_chances(edges: NDArray[np.float64], shift: float) -> NDArray[np.float64]:
    """Chance of a lot in each zone, from whichever tail keeps the digits.

    Parameters
    ----------
    edges : shape (zones + 1,)
        Where the zones end, in sigmas from the centre line.
    shift
        Distance of the true mean from the centre line, in sigmas.

    Returns
    -------
    array of shape (zones,)
    """
    low, high = edges[:-1] - shift, edges[1:] - shift
    upper = low > 0.0
    low, high = np.where(upper, -high, low), np.where(upper, -low, high)
    return np.asarray(special.ndtr(high) - special.ndtr(low), dtype=np.float64)


@lru_cache(maxsize=1024)
def _run_length(rules: tuple[str, ...], shift: float, width: float) -> float:
    if not rules:
        return math.inf
    chain = chain_of(rules, width)
    chance = zone_chances(chain.edges, shift)[chain.zone]
    goes_on = chain.target != SIGNAL
    places = (chain.source[goes_on], chain.target[goes_on])
    shape = (chain.states, chain.states)
    moves = sparse.coo_array((chance[goes_on], places), shape=shape)
    if chain.states <= MOST_BY_ELIMINATION:
        leaving, weight = chain.source[~goes_on], chance[~goes_on]
        ends = np.bincount(leaving, weight, minlength=chain.states).astype(np.float64)
        return float(mean_steps(moves.toarray(), ends)[0])
    system = sparse.eye_array(chain.states, format="csc") - moves.tocsc()
    return float(linalg.spsolve(system, np.ones(chain.states))[0])
