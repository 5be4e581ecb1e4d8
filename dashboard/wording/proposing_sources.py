"""A source profile proposed for an unknown file, and what has to be asked, in words."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from spc.errors import LotHeatError
from spc.intake import MeasuringMethod
from spc.intake.readers.findings import Ambiguity

NOT_READ: Final = "not read"
READING: Final = "what was measured"
BASES: Final[Mapping[str, str]] = MappingProxyType(
    {"as-is": "as it is", "dry": "on dry matter", "": "it makes no difference"}
)

_SIGNS: Final = {".": "a point", ",": "a comma", "": "nothing"}
_ASKED: Final[Mapping[str, str]] = MappingProxyType(
    {
        "decimal": "Which sign stands before the decimals?",
        "encoding": "How are its letters encoded?",
        "delimiter": "Which sign parts its cells?",
        "header": "How many rows name the columns?",
        "sheet": "Which sheet is meant?",
        "rows": "Which list holds the rows?",
    }
)
_STYLE: Final = {
    "%Y": "year",
    "%y": "year of two digits",
    "%m": "month",
    "%d": "day",
    "%H:%M:%S": "time",
    "%H:%M": "time",
    "%I:%M:%S %p": "time",
    "%I:%M %p": "time",
    "%z": "",
}


def proposed(name: str, problem: LotHeatError) -> str:
    """That no profile fits, and what to do."""
    return (
        f"{name}: {problem.what} Below is what the file seems to say: answer what is asked, check"
        " every column, and give its source a name; the next file of this kind is then known."
    )


def question(asked: Ambiguity) -> str:
    """What a person has to decide of the layout."""
    shown = f" In the file: {'; '.join(asked.examples)}." if asked.examples else ""
    return f"{_ASKED.get(asked.about, asked.about)} {asked.why}{shown}"


def sign(answer: str) -> str:
    """An answer to a question of layout."""
    return _SIGNS.get(answer, answer)


def date_style(style: str) -> str:
    """A style of date in words: ``"day/month/year"``."""
    for code, words in _STYLE.items():
        style = style.replace(code, words)
    return style.replace("T", " ") if "time" in style else style


def date_question(examples: list[str]) -> str:
    """Which style of date is meant."""
    return f"How are its dates written? In the file: {'; '.join(examples)}."


def method(one: MeasuringMethod) -> str:
    """What was measured, and how."""
    return f"{one.characteristic} by {one.method}"
