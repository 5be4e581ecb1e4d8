"""A proposed source profile as a file to fill in: what is open is asked, and stands as ``"?1"``."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any, Final

import tomli_w

from spc import units
from spc.intake.catalogue import Catalogue
from spc.intake.profiles.profile import FileForm
from spc.intake.proposals.candidates import Reading
from spc.intake.proposals.proposal import Proposal, profile_tables, propose, settled
from spc.intake.readers import Table, read
from spc.intake.readers.dialect import Dialect, dialect
from spc.intake.table.columns import joined

# What is asked of each part of a layout that a file leaves open.
ASKED: Final[Mapping[str, str]] = MappingProxyType(
    {
        "decimal": "Which sign stands before the decimals?",
        "encoding": "How are its letters encoded?",
        "delimiter": "Which sign parts its cells?",
        "header": "How many rows name the columns?",
        "sheet": "Which sheet is meant?",
        "rows": "Which list holds the rows?",
    }
)
BASES: Final = ("as-is", "dry", "")
_ANSWER: Final = (
    'Put the answer in place of each "?1", "?2" and so on, check every column, and receive this'
    " file."
)
_LONGEST: Final = 300
_SHOWN: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What a file leaves open.

    Attributes
    ----------
    text
        In one line.
    answers
        Lines of the profile that would answer it; none where a person has to know.
    """

    text: str
    answers: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ProposedFile:
    """A proposed profile as TOML.

    Attributes
    ----------
    text
        With its questions as remarks; no store takes it in before they are answered.
    questions
        In the order of their numbers, which count from 1.
    """

    text: str
    questions: tuple[Question, ...]


@dataclass(slots=True)
class _Asked:
    """The questions so far; each gives what stands in its place."""

    questions: list[Question] = field(default_factory=list)

    def ask(self, text: str, answers: Iterable[str] = ()) -> str:
        self.questions.append(Question(text=text, answers=tuple(answers)))
        return f"?{len(self.questions)}"


def proposed_file(name: str, content: bytes, catalogue: Catalogue) -> ProposedFile:
    """What a file seems to say, as a source profile to fill in.

    Parameters
    ----------
    name
        Of the file.
    content
        Its bytes.
    catalogue
        The characteristics, and the methods that measure them.

    Raises
    ------
    UnreadableFile
        If it holds no table of any known kind.
    """
    found, asked = dialect(name, content), _Asked()
    table = read(content, found.form)
    told = propose(table, catalogue)
    tables = profile_tables(
        asked.ask("What is this source called?"),
        version=1,
        source=f"Proposed from {name}, and checked by a person.",
        form=found.form,
        columns=told.columns,
        measures=(),
    )
    tables["file"] |= _layout(found, asked) | _dates(told, table, asked)
    if "lot" not in told.columns:
        answers = (_line(lot=header) for header in table.headers)
        tables["columns"]["lot"] = asked.ask("Which column names the lot?", answers)
    tables["measure"] = _measures(told, table, catalogue, asked)
    remarks = [
        f"Proposed from {name}. {_ANSWER}",
        *_numbered(asked.questions),
        *_unread(told, table),
    ]
    head = "".join(f"# {_remark(one)}\n" for one in remarks)
    return ProposedFile(text=head + tomli_w.dumps(tables), questions=tuple(asked.questions))


def _layout(found: Dialect, asked: _Asked) -> dict[str, str]:
    """The parts of the layout that are open."""
    placed: dict[str, str] = {}
    for one in found.ambiguities:
        ways = [settled(found.form, one, answer) for answer in one.candidates]
        open_parts = [
            part
            for part in FileForm.__dataclass_fields__
            if any(getattr(way, part) != getattr(ways[0], part) for way in ways)
        ]
        shown = f" In the file: {'; '.join(one.examples)}." if one.examples else ""
        answers = (_line(**{part: getattr(way, part) for part in open_parts}) for way in ways)
        mark = asked.ask(f"{ASKED[one.about]} {one.why}{shown}", answers)
        placed |= dict.fromkeys(open_parts, mark)
    return placed


def _dates(told: Proposal, table: Table, asked: _Asked) -> dict[str, str]:
    """How dates are written, and in which zone times are told."""
    dated = [told.columns[one] for one in ("measured_at", "received_at") if one in told.columns]
    if not dated:
        return {}
    texts = joined(table.cells, dated[0]).astype("str")
    shown = f"In the file: {'; '.join(texts[texts != ''].unique()[:_SHOWN])}."
    styles = told.date_styles
    placed = {"date_format": styles[0] if len(styles) == 1 else ""}
    if not placed["date_format"]:
        answers = [_line(date_format=one) for one in styles]
        placed["date_format"] = asked.ask(f"How are its dates written? {shown}", answers)
    if any("%H" in one or "%I" in one for one in styles) and not any("%z" in s for s in styles):
        answers = [_line(time_zone=one) for one in ("UTC", "Europe/Berlin")]
        placed["time_zone"] = asked.ask(f"In which time zone does it tell times? {shown}", answers)
    return placed


def _measures(
    told: Proposal, table: Table, catalogue: Catalogue, asked: _Asked
) -> list[dict[str, Any]]:
    """One entry of each reading that the catalogue knows; one to fill in if there is none."""
    known = [one for one in told.readings if one.candidates]
    if known:
        return [_measure(one, asked) for one in known]
    if told.columns.keys() - {"lot", "measured_at"}:
        return []
    anything = Reading(reading="", parts={}, candidates=catalogue.methods)
    answers = [_line(reading=header) for header in _free(told, table)]
    entry: dict[str, Any] = {"reading": asked.ask("Which column holds what was measured?", answers)}
    return [entry | _measure(anything, asked)]


def _measure(one: Reading, asked: _Asked) -> dict[str, Any]:
    title = one.reading or " + ".join(one.parts.values()) or "it"
    if one.where:
        title = ", ".join(word for words in one.where.values() for word in words if word)
    said = [
        {"characteristic": method.characteristic, "method": method.method}
        for method in one.candidates
    ]
    entry: dict[str, Any] = {**said[0]}
    if len(said) > 1:
        mark = asked.ask(f"What is {title}?", [_line(**way) for way in said])
        entry = dict.fromkeys(said[0], mark)
    where = {header: list(words) for header, words in one.where.items()}
    given: dict[str, Any] = {"where": where, "reading": one.reading, "parts": dict(one.parts)}
    given |= {"unit": one.unit, "unit_column": one.unit_column}
    entry |= {key: value for key, value in given.items() if value}
    if not (one.unit or one.unit_column):
        usual = dict.fromkeys(method.reading_unit for method in one.candidates)
        entry["unit"] = asked.ask(f"In which unit is {title}?", [_line(unit=u) for u in usual if u])
    if not (one.unit and units.measures(one.unit).startswith("presence")):
        answers = [_line(basis=basis) for basis in BASES]
        entry["basis"] = asked.ask(
            f"On which basis is {title}? Without one it makes no difference.", answers
        )
    return entry


def _free(told: Proposal, table: Table) -> list[str]:
    """Headers that mean nothing yet."""
    taken = {header for headers in told.columns.values() for header in headers}
    taken |= {header for one in told.readings for header in (one.reading, *one.parts.values())}
    taken |= {told.unit_column}
    if told.long is not None:
        taken |= {told.long.naming, told.long.method, told.long.reading, told.long.unit}
    return [header for header in table.headers if header not in taken]


def _unread(told: Proposal, table: Table) -> list[str]:
    """Columns and words that nothing is read of."""
    free = _free(told, table)
    words = [
        ", ".join(word for words in one.where.values() for word in words if word)
        for one in told.readings
        if not one.candidates
    ]
    columns = [f"Not read are the columns {', '.join(map(repr, free))}."] if free else []
    return columns + ([f"Not read are the rows of {', '.join(map(repr, words))}."] if words else [])


def _numbered(questions: Sequence[Question]) -> list[str]:
    return [
        line
        for number, one in enumerate(questions, start=1)
        for line in (f"?{number}  {one.text}", *(f"      {answer}" for answer in one.answers))
    ]


def _line(**parts: object) -> str:
    """Parts of a profile as they would stand in it, in one line."""
    told = {name: list(v) if isinstance(v, tuple) else v for name, v in parts.items()}
    return "   ".join(tomli_w.dumps({name: value}).strip() for name, value in told.items())


def _remark(text: str) -> str:
    """A text of the file as it can stand in a remark: in one line, and not too long."""
    plain = "".join(sign if sign.isprintable() else " " for sign in text)
    return plain if len(plain) <= _LONGEST else f"{plain[:_LONGEST]}…"
