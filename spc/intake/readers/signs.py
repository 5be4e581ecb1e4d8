"""Decimal and thousands signs, by the numbers that can be written in one way only."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final

from spc.intake.readers.findings import Ambiguity, Evidence, Finding

# Stands for the point of a number that came as a number, not as text: it shows nothing about how
# the source writes numbers, and no source writes this sign.
TYPED: Final = "\N{DOT OPERATOR}"

_NAMES: Final = {".": "point", ",": "comma"}
_SPACES: Final = " \N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE}'\N{RIGHT SINGLE QUOTATION MARK}"
_NUMBER: Final = re.compile(
    rf"[<>≤≥~]?\s*[+\-−]?(?P<body>[0-9](?:[0-9.,{_SPACES}{TYPED}]*[0-9])?)"
    r"(?:[eE][+\-]?[0-9]{1,3})?\s*%?"
)
_SHOWN: Final = 3


def is_number(text: str) -> bool:
    """Whether a text looks like a number in anybody's writing; a date is none."""
    return _NUMBER.fullmatch(text) is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seen:
    """Numbers by what they show about a sign.

    Attributes
    ----------
    decimal, thousands
        Those in which the sign can be nothing else.
    either
        Those such as 1,234 in which it can be both.
    """

    decimal: Mapping[str, list[str]] = field(default_factory=lambda: {".": [], ",": []})
    thousands: Mapping[str, list[str]] = field(
        default_factory=lambda: {sign: [] for sign in f".,{_SPACES}"}
    )
    either: Mapping[str, list[str]] = field(default_factory=lambda: {".": [], ",": []})


@dataclass(frozen=True, slots=True, kw_only=True)
class Signs:
    """How a source writes numbers.

    Attributes
    ----------
    thousands
        Empty if none was seen.
    """

    decimal: str = "."
    thousands: str = ""
    findings: tuple[Finding, ...] = ()


def signs(cells: Iterable[str]) -> Signs:
    """The signs that the numbers among some cells are written with."""
    seen = _Seen()
    for cell in dict.fromkeys(cells):
        if number := _NUMBER.fullmatch(cell):
            _note(number["body"], cell, seen)
    decimals = [sign for sign in ".," if seen.decimal[sign]]
    parting = [sign for sign in f".,{_SPACES}" if seen.thousands[sign]]
    if len(decimals) > 1 or set(decimals) & set(parting) or len(parting) > 1:
        return _contradicting(seen)
    if not decimals and {",", "."} & set(parting):
        # What parts thousands in one number cannot be the decimal sign of another.
        decimals = [sign for sign in ".," if sign not in parting]
    if decimals:
        return _decided(decimals[0], parting, seen)
    return _open(parting, seen)


def _note(body: str, cell: str, seen: _Seen) -> None:
    found = re.findall(r"[^0-9]", body)
    kinds = list(dict.fromkeys(found))
    parts = re.split(r"[^0-9]", body)
    if not found or TYPED in kinds or len(kinds) > 2:
        return
    grouped = len(parts[0]) <= 3 and all(len(part) == 3 for part in parts[1:])
    last = kinds[-1]
    if len(kinds) == 2:
        in_threes = len(parts[0]) <= 3 and all(len(part) == 3 for part in parts[1:-1])
        if in_threes and found.count(last) == 1 and last in seen.decimal:
            seen.decimal[last].append(cell)
            seen.thousands[kinds[0]].append(cell)
    elif last not in seen.decimal or len(found) > 1:
        if grouped:
            seen.thousands[last].append(cell)
    elif grouped and not parts[0].startswith("0"):
        seen.either[last].append(cell)
    else:
        seen.decimal[last].append(cell)


def _decided(decimal: str, parting: list[str], seen: _Seen) -> Signs:
    shown = seen.decimal[decimal] or seen.thousands[parting[0]]
    findings: list[Finding] = [
        Evidence(
            about="decimal",
            found=f"Its numbers make sense only with the {_NAMES[decimal]} as the decimal sign.",
            examples=tuple(shown[:_SHOWN]),
        )
    ]
    other = "," if decimal == "." else "."
    thousands = parting[0] if parting else other if seen.either[other] else ""
    if thousands:
        examples = (seen.thousands[thousands] or seen.either[other])[:_SHOWN]
        findings.append(
            Evidence(
                about="thousands",
                found=f"Thousands are parted by {_NAMES.get(thousands, repr(thousands))}.",
                examples=tuple(examples),
            )
        )
    return Signs(decimal=decimal, thousands=thousands, findings=tuple(findings))


def _open(parting: list[str], seen: _Seen) -> Signs:
    """No number shows the decimal sign; some may leave open whether they have one."""
    thousands = parting[0] if parting else ""
    for sign, examples in seen.either.items():
        if examples:
            why = f"{examples[0]} is a thousand times larger if the {_NAMES[sign]} parts thousands."
            asked = Ambiguity(
                about="decimal", candidates=(".", ","), why=why, examples=tuple(examples[:_SHOWN])
            )
            return Signs(thousands=thousands, findings=(asked,))
    return Signs(thousands=thousands)


def _contradicting(seen: _Seen) -> Signs:
    by_count = sorted(".,", key=lambda sign: -len(seen.decimal[sign]))
    shown = [*seen.decimal[by_count[0]][:2], *seen.decimal[by_count[1]][:2]]
    parted = [example for examples in seen.thousands.values() for example in examples[:1]]
    asked = Ambiguity(
        about="decimal",
        candidates=tuple(by_count),
        why="Its numbers are written in more than one way.",
        examples=tuple(dict.fromkeys([*shown, *parted])),
    )
    return Signs(decimal=by_count[0], findings=(asked,))
