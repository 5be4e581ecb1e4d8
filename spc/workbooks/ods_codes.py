"""Styles of an ODS workbook: struck or not, shown or not, and number formats as codes.

References
----------
OASIS OpenDocument 1.3, part 3, sections 16.27 to 16.29 (data styles).
"""

import re
from dataclasses import dataclass, field
from functools import cached_property
from typing import Final

from odfdo import Document, Element, XmlPart

_CONDITION: Final = re.compile(r"value\(\)\s*(<=|>=|!=|<|>|=)\s*(-?[0-9.]+)")
# More of a number no format shows.
_MOST_PLACES: Final = 30
_PARTS: Final = ("styles.xml", "content.xml")
_STYLES: Final = "//style:style"
_FORMATS: Final = " | ".join(
    f"//number:{kind}-style"
    for kind in ("number", "percentage", "currency", "date", "time", "boolean", "text")
)
# Short and long form of the parts of a moment.
_MOMENTS: Final = {
    "number:year": ("yy", "yyyy"),
    "number:day": ("d", "dd"),
    "number:day-of-week": ("ddd", "dddd"),
    "number:hours": ("h", "hh"),
    "number:minutes": ("m", "mm"),
    "number:seconds": ("s", "ss"),
    "number:am-pm": ("AM/PM", "AM/PM"),
}
_OTHERS: Final = {
    "number:fraction": "# ?/?",
    "number:text-content": "@",
    "number:boolean": "General",
}
# What a cell without a format shows, by the type of its value.
UNSAID: Final = {"percentage": "0.0%", "date": "yyyy-mm-dd", "time": "[hh]:mm:ss"}


def said(element: Element, name: str) -> str:
    """An attribute; empty if there is none."""
    return element.get_attribute_string(name) or ""


@dataclass(frozen=True, kw_only=True)
class Styles:
    """The styles of a workbook, by their names."""

    document: Document
    _codes: dict[str, str] = field(default_factory=dict)
    _struck: dict[str, bool] = field(default_factory=dict)

    def code(self, name: str) -> str:
        """The number format of a cell's style; empty if it has none."""
        if name not in self._codes:
            named = (said(one, "style:data-style-name") for one in self._line(name))
            self._codes[name] = self._coded(next(filter(None, named), ""))
        return self._codes[name]

    def is_struck(self, name: str) -> bool:
        """Whether a style of cells or of letters strikes through."""
        if name not in self._struck:
            lines = [
                said(letters, f"style:text-line-through-{what}")
                for one in self._line(name)
                for letters in one.get_elements("style:text-properties")
                for what in ("style", "type")
            ]
            self._struck[name] = next(filter(None, lines), "none") != "none"
        return self._struck[name]

    def is_displayed(self, name: str) -> bool:
        """Whether a sheet of this style is shown."""
        return not any(
            said(sheet, "table:display") == "false"
            for one in self._line(name)
            for sheet in one.get_elements("style:table-properties")
        )

    @cached_property
    def any_letters_struck(self) -> bool:
        """Whether a style of letters within a cell strikes through."""
        return any(
            self.is_struck(name)
            for name, style in self._styles.items()
            if said(style, "style:family") == "text"
        )

    @cached_property
    def _styles(self) -> dict[str, Element]:
        return self._named(_STYLES)

    @cached_property
    def _formats(self) -> dict[str, Element]:
        return self._named(_FORMATS)

    def _named(self, query: str) -> dict[str, Element]:
        held = self.document.get_parts()
        parts = [self.document.get_part(name) for name in _PARTS if name in held]
        found = [
            one
            for part in parts
            if isinstance(part, XmlPart)
            for one in part.root.get_elements(query)
        ]
        return {said(one, "style:name"): one for one in found}

    def _line(self, name: str) -> list[Element]:
        """A style, the one that it rests on, and so on."""
        found: dict[str, Element] = {}
        while name in self._styles and name not in found:
            found[name] = self._styles[name]
            name = said(found[name], "style:parent-style-name")
        return list(found.values())

    def _coded(self, name: str) -> str:
        style = self._formats.get(name)
        if style is None:
            return ""
        own = _code(style)
        found = [
            f"[{meant[1].replace('!=', '<>')}{meant[2]}]{_code(self._formats[other])}"
            for one in style.get_elements("style:map")
            if (meant := _CONDITION.search(said(one, "style:condition")))
            and (other := said(one, "style:apply-style-name")) in self._formats
        ]
        return ";".join([*found, own])


def _code(style: Element) -> str:
    """A data style as the code of the same number format."""
    overflows = said(style, "number:truncate-on-overflow") == "false"
    is_share = style.tag == "number:percentage-style"
    return "".join(
        _literal(one.inner_text, is_share=is_share)
        if one.tag in ("number:text", "number:currency-symbol")
        else _placeholder(one, overflows=overflows)
        for one in style.get_elements("*")
    )


def _literal(text: str, *, is_share: bool) -> str:
    """A text between quotes, with the sign of a share outside of them."""
    pieces = re.split("(%)" if is_share else "$^", text.replace('"', ""))
    return "".join(
        piece if piece == "%" and is_share else f'"{piece}"' for piece in pieces if piece
    )


def _placeholder(one: Element, *, overflows: bool) -> str:
    if one.tag in ("number:number", "number:scientific-number"):
        return _digits(one)
    if one.tag == "number:month":
        sizes = ("mmm", "mmmm") if said(one, "number:textual") == "true" else ("m", "mm")
        return sizes[said(one, "number:style") == "long"]
    if one.tag in _MOMENTS:
        word = _MOMENTS[one.tag][said(one, "number:style") == "long"]
        return f"[{word}]" if overflows and one.tag == "number:hours" else word
    return _OTHERS.get(one.tag, "")


def _digits(one: Element) -> str:
    whole = "0" * min(int(said(one, "number:min-integer-digits") or 1), _MOST_PLACES) or "#"
    places = min(int(said(one, "number:decimal-places") or 0), _MOST_PLACES)
    thousands = _thousands(said(one, "number:display-factor") or "1")
    exponent = "E+00" if one.tag == "number:scientific-number" else ""
    return f"{whole}{'.' if places else ''}{'0' * places}{',' * thousands}{exponent}"


def _thousands(factor: str) -> int:
    number, count = float(factor), 0
    while number >= 1000.0 and count < _MOST_PLACES:
        number, count = number / 1000.0, count + 1
    return count
