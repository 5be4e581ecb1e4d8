"""A source profile proposed for an unknown file, and what has to be asked, in words."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Final

from spc import units
from spc.errors import LotHeatError
from spc.intake import MeasuringMethod
from spc.intake.proposals.candidates import Reading
from spc.intake.proposals.questions import ASKED
from spc.intake.readers.findings import Ambiguity

NOT_READ: Final = "not read"
READING: Final = "what was measured"
NAMING: Final = "names what was measured"
BY_METHOD: Final = "names the method"
UNIT: Final = "its unit"
ONE_EACH: Final = (
    "A column names what was measured, so exactly one column holds the readings; at most one names"
    " the method, and at most one the unit."
)
BASES: Final[Mapping[str, str]] = MappingProxyType(
    {"as-is": "as it is", "dry": "on dry matter", "": "it makes no difference"}
)

_SIGNS: Final = {".": "a point", ",": "a comma", "": "nothing"}
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
    return f"{ASKED.get(asked.about, asked.about)} {asked.why}{shown}"


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


def title(one: Reading) -> str:
    """What a reading is called in the file: its column, or its words in a long table."""
    if one.where:
        return ", ".join(word for words in one.where.values() for word in words if word)
    return one.reading or " + ".join(one.parts.values())


def words_question(naming: str) -> str:
    """Which words of a long table are read."""
    return f"What of {naming} is to be read?"


def left_out(readings: Sequence[Reading]) -> str:
    """What becomes of the rows whose words are not read."""
    if not readings:
        return "Every row is read; a row with a new word will wait for a person."
    return (
        f"Not read: {'; '.join(map(title, readings))}. Such rows will wait for a person, who can"
        " dismiss them."
    )


def unit(one: str) -> str:
    """A unit, or the column that says it in each row."""
    return one if one in units.KNOWN else f"as column {one} says"


def method(one: MeasuringMethod) -> str:
    """What was measured, and how."""
    return f"{one.characteristic} by {one.method}"
