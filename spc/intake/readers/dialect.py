"""What a new file's layout seems to be: a proposal, what it rests on, and what must be asked."""

import itertools
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any, Final

from spc.intake.profiles.profile import FileForm
from spc.intake.readers import delimited, json_text, limits, workbook
from spc.intake.readers.delimiter import SAMPLE, delimiter
from spc.intake.readers.encoding import Encoding, encoding
from spc.intake.readers.findings import Ambiguity, Evidence, Finding
from spc.intake.readers.frame import frame
from spc.intake.readers.kinds import Kind, kind_of
from spc.intake.readers.reading import read
from spc.intake.readers.signs import TYPED, signs
from spc.intake.readers.text import Records, utf8

_Proposal = tuple[FileForm, list[Finding]]

# A list of rows lies at most so many keys deep.
_DEEPEST_KEYS: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Dialect:
    """The layout that a file seems to have.

    Attributes
    ----------
    form
        The proposal; times, and texts for "not measured", are left at their defaults.
    evidence
        What each part of it rests on.
    ambiguities
        What a person has to decide before the file is read; the proposal holds the first
        candidate of each.
    """

    form: FileForm
    evidence: tuple[Evidence, ...]
    ambiguities: tuple[Ambiguity, ...]


def dialect(name: str, content: bytes) -> Dialect:
    """Propose the layout of a file that no profile is known for.

    Parameters
    ----------
    name
        Of the file.
    content
        Its bytes.

    Returns
    -------
    Dialect
        Resting on the first rows of the file.

    Raises
    ------
    UnreadableFile
        If it holds no table of any known kind.
    """
    limits.refuse_size(content)
    kind = kind_of(name, content)
    form, findings = _PROPOSALS[kind](content, FileForm(kind=kind))
    return Dialect(
        form=form,
        evidence=tuple(one for one in findings if isinstance(one, Evidence)),
        ambiguities=tuple(one for one in findings if isinstance(one, Ambiguity)),
    )


def _delimited(content: bytes, form: FileForm) -> _Proposal:
    written = encoding(content)
    text = utf8(content, written.name)
    start, sign = delimited.declared(text)
    why: Finding = Evidence(about="delimiter", found="Its first line names the delimiter.")
    if not sign:
        sign, why = delimiter(text)
    records = itertools.islice(Records(text, sign, start=start), SAMPLE)
    form = replace(form, encoding=written.name, delimiter=sign)
    form, findings = _framed([row for _, row in records], form)
    return form, [_of_encoding(written), why, *findings]


def _of_encoding(written: Encoding) -> Finding:
    if not written.others:
        return Evidence(about="encoding", found=written.reason, examples=written.examples)
    return Ambiguity(
        about="encoding",
        candidates=(written.name, *written.others),
        why=written.reason,
        examples=written.examples,
    )


def _workbook(content: bytes, form: FileForm) -> _Proposal:
    samples = workbook.samples(content, most_rows=SAMPLE, decimal=TYPED)
    tables = [sample for sample in samples if sum(map(_is_row, sample.rows)) > 1]
    if not tables:
        raise limits.unreadable("no sheet of it holds a table.", "Ask its source to send it again.")
    first = tables[0]
    form, findings = _framed(first.rows, replace(form, sheet=first.name))
    return form, [*_of_sheets(tables), *findings]


def _of_sheets(tables: Sequence[workbook.Sample]) -> list[Finding]:
    """Which sheet is meant, if there are several; those that are hidden come last."""
    hidden = tuple(sample.name for sample in tables if sample.hidden)
    said: list[Finding] = []
    if hidden:
        said.append(
            Evidence(about="sheet", found="These of its sheets are hidden.", examples=hidden)
        )
    if len(tables) > 1:
        why = "More than one of its sheets holds a table."
        if hidden:
            why += f" Hidden in the workbook: {', '.join(hidden)}."
        names = tuple(sample.name for sample in tables)
        said.append(Ambiguity(about="sheet", candidates=names, why=why))
    return said


def _is_row(row: Sequence[str]) -> bool:
    return sum(cell.strip() != "" for cell in row) > 1


def _framed(rows: Sequence[Sequence[str]], form: FileForm) -> _Proposal:
    bare = [[cell.strip() for cell in row] for row in rows]
    found = frame(bare)
    form = replace(
        form,
        skip_rows=found.skip_rows,
        header_rows=found.header_rows,
        unit_row=found.unit_row,
        comment=found.comment,
    )
    form, findings = _with_signs((cell for row in bare[found.skip_rows :] for cell in row), form)
    return form, [*found.findings, *findings]


def _with_signs(cells: Iterable[str], form: FileForm) -> _Proposal:
    written = signs(cells)
    form = replace(form, decimal=written.decimal, thousands=written.thousands)
    return form, list(written.findings)


def _json(content: bytes, form: FileForm) -> _Proposal:
    form = replace(form, encoding=encoding(content).name)
    places = list(_lists(json_text.whole(content, form)))
    if not places:
        raise limits.unreadable(
            "it holds no list of objects.", "Ask its source for one object a row."
        )
    asked = Ambiguity(
        about="rows",
        candidates=tuple(".".join(place) for place in places),
        why="More than one list of objects could be its rows.",
    )
    form, findings = _typed(content, replace(form, rows_at=places[0]))
    return form, [*([asked] if len(places) > 1 else []), *findings]


def _lists(value: Any, within: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """The keys that lead to each list of objects."""
    if isinstance(value, list):
        if value and all(isinstance(one, tuple) for one in value):
            yield within
    elif isinstance(value, tuple) and len(within) < _DEEPEST_KEYS:
        for key, inner in value:
            yield from _lists(inner, (*within, key))


def _json_lines(content: bytes, form: FileForm) -> _Proposal:
    return _typed(content, replace(form, encoding=encoding(content).name))


def _typed(content: bytes, form: FileForm) -> _Proposal:
    """Only what came as text shows how its source writes numbers; numbers come as numbers."""
    cells = read(content, replace(form, decimal=TYPED)).cells.head(SAMPLE)
    return _with_signs((cell for column in cells for cell in cells[column]), form)


_PROPOSALS: Final[Mapping[Kind, Callable[[bytes, FileForm], _Proposal]]] = MappingProxyType(
    {
        "delimited": _delimited,
        "workbook": _workbook,
        "json": _json,
        "json lines": _json_lines,
        "parquet": _typed,
    }
)
