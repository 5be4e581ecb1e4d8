"""One mark for every verdict, told apart by its fill; what was decided is stamped around it."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, Literal

from spc.acceptance.evidence.lines import Outcome

Decision = Literal[
    "accepted",
    "rejected",
    "on hold",
    "accepted under concession",
    "sent to rework",
    "restricted to blend",
]

# Drawn about the origin with radius 5, in the colour of the words around it.
_FILLS: Final[Mapping[Outcome, str]] = MappingProxyType(
    {
        "conforming": '<circle r="5" fill="currentColor"/>',
        "undecided": '<circle r="5"/><path d="M0-5a5 5 0 0 0 0 10z" fill="currentColor"/>',
        "not conforming": '<circle r="5"/><path d="M-5.6 5.6 5.6-5.6"/>',
        "no result": '<circle r="5"/>',
    }
)
_STAMPS: Final[Mapping[Decision, str]] = MappingProxyType(
    {
        "accepted": '<circle r="8"/>',
        "rejected": '<path d="M-8-8H8V8H-8z"/>',
        "on hold": '<circle r="8" stroke-dasharray="2.9 2.1265"/>',
        "accepted under concession": '<circle r="8"/><path d="M-8 10H8"/>',
        "restricted to blend": '<circle r="8"/><path d="M-8 10H-2M2 10H8"/>',
        "sent to rework": '<path d="M5.7-5.7A8 8 0 1 0 8 0M2.3-6.3 5.7-5.7 5.1-9.1"/>',
    }
)


def verdict_mark(outcome: Outcome) -> str:
    """Inline SVG of what the evidence says: full, half, struck or empty.

    Parameters
    ----------
    outcome
        Of a line or a lot.

    Returns
    -------
    str
        In the colour of the surrounding text, with the outcome as its title.
    """
    return _svg(_FILLS[outcome], title=outcome, reach=7, size=16, drop=0.15)


def disposition_mark(decision: Decision, *, outcome: Outcome = "no result") -> str:
    """Inline SVG of what was decided: the verdict's mark with a stamp around its outline.

    Parameters
    ----------
    decision
        What a named person decided of the lot.
    outcome
        What the evidence had said.

    Returns
    -------
    str
        In the colour of the surrounding text, with both as its title.
    """
    inner = f'<g transform="scale(.8)">{_FILLS[outcome]}</g>'
    return _svg(
        inner + _STAMPS[decision], title=f"{decision}; {outcome}", reach=11, size=22, drop=0.35
    )


def _svg(drawing: str, *, title: str, reach: int, size: int, drop: float) -> str:
    view = f"{-reach} {-reach} {2 * reach} {2 * reach}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" width="{size}" height="{size}" '
        f'viewBox="{view}" fill="none" stroke="currentColor" stroke-width="1.5" '
        f'style="vertical-align:-{drop}em"><title>{title}</title>{drawing}</svg>'
    )
