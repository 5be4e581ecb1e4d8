"""Run rules: patterns of lots that chance alone seldom makes."""

import difflib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.charts.rules.patterns import PATTERNS, Flags, Points
from spc.errors import InvalidInput

WESTERN_ELECTRIC: Final = "Western Electric, Statistical Quality Control Handbook, 1956"
NELSON: Final = "Nelson, L. S., Journal of Quality Technology 16(4), 1984, 237-239"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One pattern, told so that a buyer understands it.

    Attributes
    ----------
    name
        By which it is asked for and shown.
    sentence
        What the lots did.
    source
        Where the pattern was published.
    span
        Number of lots the pattern looks back over, the signalling one included.
    """

    name: str
    sentence: str
    source: str
    span: int


_WESTERN_ELECTRIC: Final = {
    "beyond limits": (1, "This lot lies outside the control limits."),
    "two of three far out": (3, "Two of the last three lots lie over two sigmas out on one side."),
    "four of five out": (5, "Four of the last five lots lie over one sigma out on one side."),
    "eight on one side": (8, "The last eight lots all lie on the same side of the centre line."),
}
_NELSON: Final = {
    "nine on one side": (9, "The last nine lots all lie on the same side of the centre line."),
    "six rising or falling": (6, "Over the last six lots every step went up, or every step down."),
    "fourteen alternating": (14, "The last fourteen lots went up and down by turns."),
    "fifteen hugging the centre": (15, "The last fifteen lots all lie less than one sigma out."),
    "eight avoiding the centre": (
        8,
        "The last eight lots all lie over one sigma out, and on both sides.",
    ),
}
RULES: Final[Mapping[str, Rule]] = MappingProxyType(
    {
        name: Rule(name=name, sentence=sentence, source=source, span=span)
        for source, patterns in ((WESTERN_ELECTRIC, _WESTERN_ELECTRIC), (NELSON, _NELSON))
        for name, (span, sentence) in patterns.items()
    }
)

# Chosen for what a buyer can act on: a lot, or a run of lots, that moved.  Nine on one side
# rather than eight keeps false alarms as rare with the trend rule (one in about 89 steady
# lots) as the four Western Electric rules are without it (one in 92).  The last three rules
# speak of how samples were drawn or suppliers mixed, and need more lots than most streams have.
DEFAULT_RULES: Final = (
    "beyond limits",
    "two of three far out",
    "four of five out",
    "nine on one side",
    "six rising or falling",
)

# Streams are judged by so many points at a time that what lies between stays in cache.
LARGEST_PART: Final = 200_000


def run_rules(
    z: ArrayLike,
    *,
    rules: Sequence[str] = DEFAULT_RULES,
    starts: ArrayLike | None = None,
    width: float = 3.0,
) -> Flags:
    """Which points complete which pattern, for many streams at once.

    Parameters
    ----------
    z : shape (points,)
        Distances from the centre line in sigmas, stream after stream, each in order of
        receipt; NaN for a lot without a usable value.
    rules
        Names out of `RULES`.
    starts : shape (streams,)
        Index of each stream's first point; one stream if left out.
    width
        Distance from centre line to limit, in sigmas, for "beyond limits".

    Returns
    -------
    bool array of shape (points, rules)
        True at the last point of a pattern, in the order of `rules`.

    Raises
    ------
    InvalidInput
        If a rule is unknown, `z` is not one-dimensional or holds an infinity, `starts`
        does not begin with 0 and rise to below the number of points, or `width` is not
        positive.

    Notes
    -----
    Comparisons are strict: a point within 1e-9 sigma of a line lies on it and is not
    beyond it, a point on the centre line is on neither side, and a step of at most 1e-9
    sigma is none.  Of "two of three" and "four of five" the last point must itself be
    one of those out; a stream's first two or four points can complete them, since no
    earlier point could undo the pattern.  A gap never signals, ends every run, and
    silences every pattern whose look-back holds it.

    References
    ----------
    Western Electric (1956), Statistical Quality Control Handbook.
    Nelson, L. S. (1984), Journal of Quality Technology 16(4), 237-239.
    """
    points = _points(z, starts, width)
    wanted = [rule_named(name, where="run_rules") for name in rules]
    signals = np.empty((len(wanted), points.z.size), dtype=np.bool_)
    for part, first in points.parts(LARGEST_PART):
        for row, rule in zip(signals, wanted, strict=True):
            row[first : first + part.z.size] = PATTERNS[rule.name](part, rule.span)
    return signals.T


def rule_named(name: str, *, where: str) -> Rule:
    """The run rule of that name, refused with the nearest names if there is none.

    Parameters
    ----------
    name
        A name out of `RULES`.
    where
        The computation that was asked for.

    Returns
    -------
    Rule

    Raises
    ------
    InvalidInput
        If there is no such rule.
    """
    if name in RULES:
        return RULES[name]
    near = difflib.get_close_matches(name, RULES, n=3) or list(RULES)
    raise InvalidInput(
        f"there is no run rule {name!r}.", where=where, remedy=f"Use one of: {', '.join(near)}."
    )


def checked_starts(starts: ArrayLike, size: int, *, where: str) -> NDArray[np.int64]:
    """First index of each run of a flat array, refused unless every run has an entry.

    Parameters
    ----------
    starts : shape (runs,)
        Index of each run's first entry.
    size
        Number of entries of the flat array.
    where
        The computation that was asked for.

    Returns
    -------
    int array of shape (runs,)

    Raises
    ------
    InvalidInput
        If `starts` does not begin with 0 and rise strictly to below `size`.
    """
    index = np.asarray(starts)
    whole = index.ndim == 1 and (index.size == 0 or np.issubdtype(index.dtype, np.integer))
    if whole and np.array_equal(index[:1], np.zeros(min(size, 1))):
        ends = np.append(index[1:], size)[: index.size]
        if np.all(index < ends):
            return index.astype(np.int64)
    raise InvalidInput(
        f"starts are not the first indices of runs of {size} entries.",
        where=where,
        remedy="Begin with 0, rise strictly, and stay below the number of entries.",
    )


def _points(z: ArrayLike, starts: ArrayLike | None, width: float) -> Points:
    scores = np.asarray(z, dtype=np.float64)
    if scores.ndim != 1:
        raise _refused(f"z has {scores.ndim} dimensions, not one.", "Lay streams end to end.")
    infinite = np.flatnonzero(np.isinf(scores))
    if infinite.size:
        raise _refused(
            f"z at position {infinite[0]} is infinite.", "Use NaN for a lot without a usable value."
        )
    if not width > 0.0:
        raise _refused(f"a width of {width:g} sigmas draws no limits.", "Give a positive number.")
    if starts is None:
        starts = np.zeros(min(scores.size, 1), dtype=np.int64)
    return Points(scores, checked_starts(starts, scores.size, where="run_rules"), width)


def _refused(what: str, remedy: str) -> InvalidInput:
    return InvalidInput(what, where="run_rules", remedy=remedy)
