"""How many lots pass before run rules signal, with those that compare lots with each other."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse import linalg

from spc.charts.rules.rule_states import ORDERED
from spc.charts.rules.rules import RULES
from spc.charts.rules.runlength import SIGNAL, chain_of, checked_rules, run_length, zone_chances
from spc.errors import InvalidInput

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]

# Within a zone the run length is a sum of exponentials of the chance passed over: ten nodes give
# every digit on the widest zone there is, the whole line.
NODES: Final = 10
# So many states are solved in about as long as streams are simulated.
MOST_STATES: Final = 12_000
RISING, ALTERNATING = "six rising or falling", "fourteen alternating"


class Steps(NamedTuple):
    """What is known of the steps so far: the newest one's direction, and how many in a row."""

    direction: int = 0
    one_way: int = 0
    by_turns: int = 0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OrderedChain:
    """Where each state goes; a state holds the zone of the last lot, but not its place in it.

    Attributes
    ----------
    edges : shape (zones + 1,)
        Where the zones end, in sigmas from the centre line.
    zone : shape (states,)
        Zone of the last lot.
    begin : shape (zones,)
        State after a first lot in each zone, or `SIGNAL`.
    elsewhere : shape (states, zones)
        Next state after a lot in another zone; not read for the own one.
    higher, lower : shape (states,)
        Next state after a lot in the same zone that lies above or below the last.
    """

    edges: Floats
    zone: Integers
    begin: Integers
    elsewhere: Integers
    higher: Integers
    lower: Integers


def run_length_ordered(rules: Sequence[str], shift: float = 0.0, *, width: float = 3.0) -> float:
    """Average number of lots until the first signal, by integral equation.

    Parameters
    ----------
    rules
        Names out of `RULES`.
    shift
        Distance of the true mean from the centre line, in sigmas, from the first lot on.
    width
        Distance from centre line to limit, in sigmas, for "beyond limits".

    Returns
    -------
    float
        In lots, the signalling one included; to within 1e-9 of itself.

    Raises
    ------
    InvalidInput
        If a rule is unknown, `shift` is not finite, `width` is not positive, or the rules
        together have more than `MOST_STATES` states.

    Notes
    -----
    As `run_length`, with the last lot's value held beside what the zones hold.  Lots are
    independent, so a step up or down depends on that value alone, and the average run length is
    a Fredholm equation in it, of the second kind, one function a state.  It is solved by
    collocation at Gauss-Legendre nodes of the distribution function, zone by zone; the
    integrals up to a node are those of the polynomial through all nodes, so the step of the
    kernel costs no digits.

    References
    ----------
    Champ, C. W. and Woodall, W. H. (1987), Technometrics 29(4), 393-399 (the chain).
    Crowder, S. V. (1987), Journal of Quality Technology 19(2), 98-102 (the last value as a
    state).
    """
    wanted = checked_rules(rules, shift, width, where="run_length_ordered")
    if not ORDERED.intersection(wanted):
        return run_length(wanted, shift, width=width)
    chain = _chain(wanted, float(width))
    if chain is None:
        raise InvalidInput(
            f"these rules together have more than {MOST_STATES} states.",
            where="run_length_ordered",
            remedy="Use charts.run_length_simulated, or leave a rule out.",
        )
    return _solved(chain, float(shift))


@lru_cache(maxsize=256)
def solvable(rules: tuple[str, ...], width: float) -> bool:
    """Whether the run length of these rules can be had without trying it out.

    Parameters
    ----------
    rules
        Names out of `RULES`, in its order.
    width
        Distance from centre line to limit, in sigmas.

    Returns
    -------
    bool
    """
    return not ORDERED.intersection(rules) or _chain(rules, width) is not None


@lru_cache(maxsize=32)
def _chain(rules: tuple[str, ...], width: float) -> OrderedChain | None:
    """Every state that can be reached; None if there are more than can be solved."""
    edges, target = _zones(tuple(name for name in rules if name not in ORDERED), width)
    zones = edges.size - 1
    step = _stepping(rules)
    found: dict[tuple[int, Steps, int], int] = {}
    waiting: list[tuple[int, Steps, int]] = []

    def state(past: int, steps: Steps | None, zone: int) -> int:
        if past == SIGNAL or steps is None:
            return SIGNAL
        key = (past, steps, zone)
        if key not in found:
            found[key] = len(found)
            waiting.append(key)
        return found[key]

    begin = [state(int(target[0, zone]), Steps(), zone) for zone in range(zones)]
    elsewhere, higher, lower, own = [], [], [], []
    # First in, first out: the rows then stand in the order of the states.
    for past, steps, last in waiting:
        up, down = step(steps, 1), step(steps, -1)
        row = target[past].tolist()
        elsewhere.append([state(row[z], up if z > last else down, z) for z in range(zones)])
        higher.append(state(row[last], up, last))
        lower.append(state(row[last], down, last))
        own.append(last)
        if len(found) > MOST_STATES:
            return None
    return OrderedChain(
        edges=edges,
        zone=np.array(own),
        begin=np.array(begin),
        elsewhere=np.array(elsewhere),
        higher=np.array(higher),
        lower=np.array(lower),
    )


def _zones(held: tuple[str, ...], width: float) -> tuple[Floats, Integers]:
    """Edges of the zones, and where each state of the rules that ask for them goes."""
    if not held:
        return np.array([-np.inf, np.inf]), np.zeros((1, 1), dtype=np.int64)
    chain = chain_of(held, width)
    target = np.empty((chain.states, chain.edges.size - 1), dtype=np.int64)
    target[chain.source, chain.zone] = chain.target
    return chain.edges, target


def _stepping(rules: tuple[str, ...]) -> Callable[[Steps, int], Steps | None]:
    """What is known after one more step, or None once a rule signals.

    A pattern over so many lots is one step shorter; what no rule asks for is not counted.
    """
    most_one_way = RULES[RISING].span - 1 if RISING in rules else 0
    most_by_turns = RULES[ALTERNATING].span - 1 if ALTERNATING in rules else 0

    def step(before: Steps, direction: int) -> Steps | None:
        goes_on = direction == before.direction
        one_way = before.one_way + 1 if goes_on else 1
        by_turns = 1 if goes_on else before.by_turns + 1
        if one_way == most_one_way or by_turns == most_by_turns:
            return None
        return Steps(direction, one_way if most_one_way else 0, by_turns if most_by_turns else 0)

    return step


def _solved(chain: OrderedChain, shift: float) -> float:
    chance = zone_chances(chain.edges, shift)
    states = chain.zone.size
    # Unknowns: the run length at each node of each state, then its integral over the zone.
    weight, up_to = _collocation(NODES)
    own = chance[chain.zone]
    rows, columns, entries = [], [], []

    def add(row: NDArray[np.int64], column: NDArray[np.int64], entry: Floats) -> None:
        rows.append(row.ravel())
        columns.append(column.ravel())
        entries.append(entry.ravel())

    places = np.arange(states)[:, None] * NODES + np.arange(NODES)
    integral = states * NODES + np.arange(states)
    for target, part in ((chain.higher, weight - up_to), (chain.lower, up_to)):
        kept = np.flatnonzero(target != SIGNAL)
        shape = (kept.size, NODES, NODES)
        add(
            np.broadcast_to(places[kept][:, :, None], shape),
            np.broadcast_to(places[target[kept]][:, None, :], shape),
            own[kept][:, None, None] * part,
        )
    for zone in range(chance.size):
        target = chain.elsewhere[:, zone]
        kept = np.flatnonzero((target != SIGNAL) & (chain.zone != zone))
        wide = (kept.size, NODES)
        add(places[kept], np.broadcast_to(integral[target[kept]][:, None], wide), np.ones(wide))
    add(np.broadcast_to(integral[:, None], places.shape), places, own[:, None] * weight)
    size = states * (NODES + 1)
    moves = sparse.coo_array(
        (np.concatenate(entries), (np.concatenate(rows), np.concatenate(columns))),
        shape=(size, size),
    )
    right = np.concatenate((np.ones(states * NODES), np.zeros(states)))
    found = linalg.spsolve(sparse.eye_array(size, format="csc") - moves.tocsc(), right)
    first = chain.begin[chain.begin != SIGNAL]
    return 1.0 + math.fsum(found[integral[first]])


def _collocation(nodes: int) -> tuple[Floats, Floats]:
    """Gauss-Legendre weights on [0, 1], and integrals from 0 to each node.

    The latter have a row a node and a column for the value at each.
    """
    x, w = np.polynomial.legendre.leggauss(nodes)
    legendre = np.polynomial.legendre
    # Coefficients of the polynomial through the values, by the discrete orthogonality.
    degree = np.arange(nodes)
    coefficients = (2 * degree[:, None] + 1) / 2.0 * legendre.legvander(x, nodes - 1).T * w
    integrals = legendre.legint(coefficients, lbnd=-1.0, axis=0)
    up_to = legendre.legval(x, integrals).T / 2.0
    return w / 2.0, np.asarray(up_to, dtype=np.float64)
