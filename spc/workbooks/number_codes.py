"""Number formats of spreadsheets: what a person sees of a stored number, and at which scale.

References
----------
ISO/IEC 29500-1, 18.8.31 (number formats).
"""

import operator
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from types import MappingProxyType
from typing import Final

_TOKEN: Final = re.compile(
    r'"(?P<quoted>[^"]*)"?|\\(?P<escaped>.)|(?P<skipped>_.|\*.)|\[\$(?P<currency>[^\]-]*)[^\]]*\]'
    r"|\[(?P<elapsed>[hms]+)\]|\[(?P<condition>[<>=]+-?[0-9.]+)\]|(?P<colour>\[[^\]]*\])"
    r"|(?P<general>General|Standard)|(?P<exponent>[eE][+-])|(?P<half>AM/PM|A/P)"
    r"|(?P<sign>.)",
    re.IGNORECASE | re.DOTALL,
)
_CONDITION: Final = re.compile(r"(<=|>=|<>|<|>|=)(-?[0-9]+(?:\.[0-9]+)?)")
_MEANT: Final[Mapping[str, Callable[[float, float], bool]]] = MappingProxyType(
    {
        "<": operator.lt,
        "<=": operator.le,
        ">": operator.gt,
        ">=": operator.ge,
        "=": operator.eq,
        "<>": operator.ne,
    }
)
_MOMENT_SIGNS: Final = frozenset("ymdhsYMDHS")
_LITERAL: Final = "\x01"
# Beside a digit these would be read as a part of the number.
_OF_NUMBERS: Final = re.compile(r"[0-9.,]")

Part = tuple[str, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What a cell shows of a number.

    Attributes
    ----------
    before, digits, after
        The stored digits at the scale that is shown, with a point, and the text around them.
    unlike
        Whether a person would take it for another value than the one that is stored.
    """

    before: str
    digits: str
    after: str
    unlike: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """One of the up to four parts of a number format.

    Attributes
    ----------
    parts
        Kind and text of each token: literal, percent, digit, moment, elapsed, half or text.
    core
        Its placeholders in order, with a mark for every literal between two of them.
    before, between, after
        The literals around the placeholders, and each of those between them.
    """

    condition: tuple[str, float] | None
    parts: tuple[Part, ...]
    core: str = ""
    before: str = ""
    between: tuple[str, ...] = ()
    after: str = ""

    @property
    def is_moment(self) -> bool:
        """Whether it shows a date or a time."""
        return any(kind in ("moment", "elapsed") for kind, _ in self.parts)

    @property
    def is_text(self) -> bool:
        """Whether it shows what stands in the cell as a text."""
        return any(kind == "text" for kind, _ in self.parts)

    @property
    def scale(self) -> int:
        """Powers of ten between what is stored and what is shown."""
        whole, point, rest = self.core.partition(".")
        commas = len(whole) - len(whole.rstrip(","))
        commas += len(rest) - len(rest.rstrip(",")) if point else 0
        return 2 * self.parts.count(("percent", "%")) - 3 * commas

    @property
    def least_digits(self) -> int:
        """Digits before the point that are shown at least."""
        return self.core.partition(".")[0].partition("e")[0].count("0")

    @property
    def is_plain(self) -> bool:
        """Whether it shows a number as it is stored, but for rounding."""
        return not (self.before or self.after or self.scale or self.least_digits > 1) and (
            bool(self.core) and _LITERAL not in self.core
        )


@cache
def sections(code: str) -> tuple[Section, ...]:
    """The parts of a number format."""
    return tuple(map(_section, _apart(code)))


@cache
def is_plain(code: str) -> bool:
    """Whether every number is shown as it is stored, but for rounding."""
    first, *others = sections(code)
    return first.is_plain and first.condition is None and not others


def section_of(code: str, number: float) -> tuple[Section, bool]:
    """The part that shows a number, and whether that part brings the minus of its own."""
    found = [one for one in sections(code) if not one.is_text] or list(sections(code))[:1]
    if any(one.condition for one in found):
        for one in found:
            if one.condition is None or _MEANT[one.condition[0]](number, one.condition[1]):
                return one, False
        return found[-1], False
    if number < 0.0 and len(found) > 1:
        return found[1], True
    return (found[2] if number == 0.0 and len(found) > 2 else found[0]), False


def shown_number(code: str, number: float) -> Shown:
    """What a format shows of a number that is no moment.

    Notes
    -----
    Rounding is undone: a person who opens the cell sees the stored digits.  What changes the scale,
    such as a per cent sign, is not: it is what everybody reads.
    """
    section, own_minus = section_of(code, number)
    if not section.core:
        return _without_digits(section, number)
    stored = Decimal(repr(number))
    minus = "-" if stored < 0 else ""
    digits = plain(abs(stored).scaleb(section.scale))
    whole, point, rest = digits.partition(".")
    digits = f"{whole.zfill(section.least_digits)}{point}{rest}"
    before, after, unlike = section.before, section.after, False
    if minus and own_minus:
        before, after, unlike = _without_sign(before, after)
        minus = "" if unlike else minus
    if _LITERAL in section.core:
        digits, between = _among(section, digits)
        unlike = unlike or between
    touching = _OF_NUMBERS.match(before[-1:]) or _OF_NUMBERS.match(after[:1])
    return Shown(
        before=before, digits=minus + digits, after=after, unlike=unlike or touching is not None
    )


def shown_text(code: str, text: str) -> str:
    """What a format shows of a text."""
    for section in sections(code):
        if section.is_text:
            return "".join(
                text if kind == "text" else literal
                for kind, literal in section.parts
                if kind in ("text", "literal", "percent")
            )
    return text


def plain(number: Decimal) -> str:
    """The digits of a number, without zeros at their end and without an exponent."""
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _apart(code: str) -> list[str]:
    """A format split at the semicolons that are no literals."""
    found = [""]
    for token in _TOKEN.finditer(code):
        if token["sign"] == ";":
            found.append("")
        else:
            found[-1] += token[0]
    return found


def _section(code: str) -> Section:
    condition: tuple[str, float] | None = None
    parts: list[Part] = []
    for token in _TOKEN.finditer(code):
        if token["condition"] and (meant := _CONDITION.fullmatch(token["condition"])):
            condition = meant[1], float(meant[2])
        elif part := _part(token):
            parts.append(part)
    if any(kind in ("moment", "elapsed") for kind, _ in parts):
        return Section(condition=condition, parts=tuple(parts))
    return _placed(condition, parts)


def _part(token: re.Match[str]) -> Part | None:
    for literal in ("quoted", "escaped", "currency"):
        if token[literal] is not None:
            return "literal", token[literal]
    for kind in ("elapsed", "half"):
        if token[kind] is not None:
            return kind, token[kind]
    if token["general"]:
        return "digit", "#"
    if token["exponent"]:
        return "digit", "e"
    sign: str | None = token["sign"]
    return None if sign is None else (_kind(sign), sign)


def _kind(sign: str) -> str:
    if sign in _MOMENT_SIGNS:
        return "moment"
    if sign in "0#?.,/":
        return "digit"
    return {"@": "text", "%": "percent"}.get(sign, "literal")


def _placed(condition: tuple[str, float] | None, parts: list[Part]) -> Section:
    """A section of numbers, with what stands before, between and after its placeholders."""
    places = [place for place, (kind, text) in enumerate(parts) if kind == "digit" and text != "/"]
    if not places:
        literal = "".join(text for kind, text in parts if kind != "text")
        return Section(condition=condition, parts=tuple(parts), before=literal)
    first, last = places[0], places[-1]
    before = "".join(text for _, text in parts[:first])
    if ("digit", "/") in parts[first:]:
        # A fraction; what stands behind its stroke is no unit but how it is divided.
        return Section(condition=condition, parts=tuple(parts), core="#", before=before)
    inner = parts[first : last + 1]
    return Section(
        condition=condition,
        parts=tuple(parts),
        core="".join(text if kind == "digit" else _LITERAL for kind, text in inner),
        before=before,
        between=tuple(text for kind, text in inner if kind != "digit"),
        after="".join(text for _, text in parts[last + 1 :]),
    )


def _without_digits(section: Section, number: float) -> Shown:
    """A format without placeholders shows a word, or nothing at all."""
    if section.before.strip():
        return Shown(before=section.before, digits="", after="")
    if section.is_text:
        return Shown(before="", digits=plain(Decimal(repr(number))), after="")
    return Shown(before="", digits=plain(Decimal(repr(number))), after="", unlike=True)


def _without_sign(before: str, after: str) -> tuple[str, str, bool]:
    """What stands around a negative number, without what says that it is one."""
    for minus in "-−":
        if minus in before:
            return before.replace(minus, "", 1), after, False
    if "(" in before and ")" in after:
        return before.replace("(", "", 1), after.replace(")", "", 1), False
    return before, after, True


def _among(section: Section, digits: str) -> tuple[str, bool]:
    """Whole digits put among the literals between their places, as in 000-000."""
    if "." in digits or "." in section.core:
        return digits, True
    return _woven(section.core.replace(",", ""), digits, section.between), False


def _woven(core: str, digits: str, between: tuple[str, ...]) -> str:
    found: list[str] = []
    left, literals = list(digits), list(between)
    for sign in reversed(core):
        if sign == _LITERAL:
            found.insert(0, literals.pop())
        elif left:
            found.insert(0, left.pop())
    return "".join([*left, *found])
