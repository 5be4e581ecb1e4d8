"""What each run rule has to know of earlier lots, and how one more lot changes it."""

from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass
from functools import partial
from types import MappingProxyType
from typing import Any, Final

# Rules that compare lots with each other, not with lines, so that zones cannot hold their past.
ORDERED: Final = frozenset({"six rising or falling", "fourteen alternating"})


@dataclass(frozen=True, slots=True)
class Memory:
    """What one rule keeps of the past.

    Attributes
    ----------
    lines
        Where the rule draws its lines, in sigmas from the centre line.
    begin
        What is kept before the first lot.
    step
        Takes what is kept and the next lot; gives what is kept then, and whether the rule
        signals.
    """

    lines: tuple[float, ...]
    begin: Hashable
    step: Callable[[Any, float], tuple[Hashable, bool]]


def _beyond(past: None, z: float, *, width: float) -> tuple[None, bool]:
    return past, abs(z) > width


def _most_of(
    past: tuple[int, int], z: float, *, span: int, need: int, line: float
) -> tuple[tuple[int, int], bool]:
    """The past as two rows of bits: which earlier lots were out above, which below."""
    out = (z > line, z < -line)
    signals = any(o and p.bit_count() + 1 >= need for o, p in zip(out, past, strict=True))
    kept = (1 << (span - 1)) - 1
    high, low = ((p << 1 | o) & kept for o, p in zip(out, past, strict=True))
    return (high, low), signals


def _longer(run: int, z: float) -> int:
    """The length of a run on one side, counted up above the centre and down below it."""
    side = 1 if z > 0.0 else -1
    return run + side if run * side > 0 else side


def _one_side(run: int, z: float, *, span: int) -> tuple[int, bool]:
    longer = _longer(run, z)
    return longer, abs(longer) >= span


def _hugging(run: int, z: float, *, span: int) -> tuple[int, bool]:
    longer = run + 1 if abs(z) < 1.0 else 0
    return longer, longer >= span


def _avoiding(past: tuple[int, int], z: float, *, span: int) -> tuple[tuple[int, int], bool]:
    """The past as two runs: of lots out on either side, and of lots out on one side."""
    if abs(z) < 1.0:
        return (0, 0), False
    out, one_side = past[0] + 1, _longer(past[1], z)
    signals = out >= span > abs(one_side)
    return (min(out, span - 1), max(min(one_side, span - 1), 1 - span)), signals


def memories(width: float) -> Mapping[str, Memory]:
    """The memory of every rule that asks for zones only, by the rule's name.

    Parameters
    ----------
    width
        Distance from centre line to limit, in sigmas.

    Returns
    -------
    mapping of Memory
    """

    def most_of(need: int, span: int, line: float) -> Memory:
        step = partial(_most_of, span=span, need=need, line=line)
        return Memory((-line, line), (0, 0), step)

    return MappingProxyType(
        {
            "beyond limits": Memory((-width, width), None, partial(_beyond, width=width)),
            "two of three far out": most_of(2, 3, 2.0),
            "four of five out": most_of(4, 5, 1.0),
            "eight on one side": Memory((0.0,), 0, partial(_one_side, span=8)),
            "nine on one side": Memory((0.0,), 0, partial(_one_side, span=9)),
            "fifteen hugging the centre": Memory((-1.0, 1.0), 0, partial(_hugging, span=15)),
            "eight avoiding the centre": Memory(
                (-1.0, 0.0, 1.0), (0, 0), partial(_avoiding, span=8)
            ),
        }
    )
