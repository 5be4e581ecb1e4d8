"""Bytes of a file to its tables, each by the source profile that fits it."""

import contextlib
import shlex
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import cache, partial
from operator import itemgetter
from typing import Final

from spc.errors import AmbiguousLayout, UnknownLayout, UnknownName, UnreadableFile
from spc.intake import SourceProfile, read, recognise
from spc.intake.profiles.profile import FileForm
from spc.intake.profiles.recognition import most_telling
from spc.intake.readers import Table, is_workbook
from spc.intake.readers.delimited import rows_above
from spc.intake.readers.dialect import dialect
from spc.intake.shapes.blocks import Part, parts
from spc.intake.shapes.turned import turned
from spc.store.file.cursors import Cursor
from spc.store.files import profiles
from spc.store.lots import lots

# Enough of a long file to see its header by.
_HEAD: Final = 65_536
# Kinds of file in which a table may lie on its side.
_SIDEWAYS: Final = ("delimited", "workbook")


def read_by(cursor: Cursor, content: bytes, *, profile: str | None, where: str) -> list[Part]:
    """The tables of a file, by the profile named, or by the one whose header the file has.

    Raises
    ------
    UnknownName
        If there is no profile of that name.
    UnreadableFile
        If no layout can read the bytes.
    UnknownLayout
        If no profile fits the header, or none reads workbooks and it is one.
    AmbiguousLayout
        If several do.
    """
    every = profiles.load(cursor)
    known = every
    if profile is not None:
        known = [one for one in every if one.profile == profile]
        if not known:
            raise UnknownName("source profile", profile, known=[one.profile for one in every])
    if is_workbook(content) and not any(one.form.kind == "workbook" for one in known):
        _refuse_workbook(content, profile or "", where)
    try:
        source, table = _nearest(content, known, where)
    except UnknownLayout as problem:
        if profile is not None:
            raise
        _refuse_unreadable(content, where)
        raise UnknownLayout(problem.what, where=where, remedy=_proposal(where)) from problem
    return _parts(cursor, content, source, table, every)


def read_again(cursor: Cursor, content: bytes, *, profile: str, version: int) -> list[Part]:
    """The tables by the newest version of the profile, or by its own if that no longer fits."""
    every = profiles.load(cursor)
    newest = next((one for one in every if one.profile == profile), None)
    if newest is not None:
        table = _upright(read(content, newest.form), newest)
        if newest.headers <= set(table.headers):
            return _parts(cursor, content, newest, table, every)
    return read_as(cursor, content, profile=profile, version=version)


def read_as(cursor: Cursor, content: bytes, *, profile: str, version: int) -> list[Part]:
    """The tables by one version of a profile, as the receipt used it."""
    source = profiles.version(cursor, profile, version)
    table = _upright(read(content, source.form), source)
    return _parts(cursor, content, source, table, profiles.load(cursor))


def _parts(
    cursor: Cursor,
    content: bytes,
    source: SourceProfile,
    table: Table,
    every: Sequence[SourceProfile],
) -> list[Part]:
    @cache
    def lots_known() -> frozenset[str]:
        return frozenset(lots.names(cursor))

    found = parts(table, source, every, is_lot=lambda text: text in lots_known())
    wider = next((place for place, one in enumerate(found) if one.wider), None)
    if wider is None:
        return found
    again = _from_row(content, found[wider], every)
    if again is None:
        return found
    return [*found[:wider], *_parts(cursor, content, *again, every)]


def _from_row(
    content: bytes, part: Part, every: Sequence[SourceProfile]
) -> tuple[SourceProfile, Table] | None:
    """A table further down, read from its own header on; None unless just one profile fits it."""
    row = int(part.table.cells.index[0])
    kind = part.profile.form.kind
    above = row - 1 if kind == "workbook" else rows_above(content, part.profile.form, row)
    found = []
    for one in every:
        if one.form.kind == kind:
            with contextlib.suppress(UnreadableFile):
                table = read(content, replace(one.form, skip_rows=above))
                if one.headers <= set(table.headers):
                    found.append((one, table))
    telling = most_telling([one for one, _ in found])
    return next((pair for pair in found if pair[0] in telling), None) if len(telling) == 1 else None


def _upright(table: Table, source: SourceProfile) -> Table:
    """The table; turned, if it lies on its side and then has the profile's header."""
    if source.headers <= set(table.headers) or source.form.kind not in _SIDEWAYS:
        return table
    other = turned(table)
    fits = other is not None and source.headers <= set(other.headers)
    return other if other is not None and fits else table


def _refuse_unreadable(content: bytes, where: str) -> None:
    """Refuse what could not be read by any profile, whichever there were."""
    try:
        dialect(where, content)
    except UnreadableFile as problem:
        raise UnreadableFile(problem.what, where=where, remedy=problem.remedy) from problem


def _proposal(where: str) -> str:
    return (
        f"Drop it on Intake or run `lotheat propose {shlex.quote(where)}`: either proposes a source"
        " profile for it. If its header is wrong, correct that."
    )


def _nearest(
    content: bytes, known: Sequence[SourceProfile], where: str
) -> tuple[SourceProfile, Table]:
    """The profile whose header the file has, and the table it reads.

    Raises
    ------
    AmbiguousLayout, UnknownLayout, UnreadableFile
        If several fit, none, or those that would cannot read it.
    """
    if not known:
        recognise((), known)
    whole = _reading(content)
    ranked = _ranked(content, known, whole)
    fitting = most_telling([one for share, one in ranked if share == 1.0])
    readable = [one for one in fitting if _can_be_read(whole, one)]
    if len(readable) > 1:
        raise AmbiguousLayout([one.profile for one in readable], where=where)
    source, table = _first_read(content, ranked, whole, where)
    if not source.headers <= set(table.headers):
        source, table = _on_its_side(ranked, whole) or (source, table)
    # If even the nearest does not fit, this raises, and says what it lacks.
    return recognise(table.headers, [source]), table


def _reading(content: bytes) -> Callable[[FileForm], Table]:
    @cache
    def whole(form: FileForm) -> Table:
        return read(content, form)

    return whole


def _can_be_read(whole: Callable[[FileForm], Table], source: SourceProfile) -> bool:
    try:
        whole(source.form)
    except UnreadableFile:
        return False
    return True


def _on_its_side(
    ranked: Sequence[tuple[float, SourceProfile]], whole: Callable[[FileForm], Table]
) -> tuple[SourceProfile, Table] | None:
    """The profile whose header stands down the first column, and the table turned for it."""
    found = []
    for _, source in ranked:
        with contextlib.suppress(UnreadableFile):
            table = _upright(whole(source.form), source)
            if source.headers <= set(table.headers):
                found.append((source, table))
    telling = most_telling([source for source, _ in found])
    if len(telling) > 1:
        raise AmbiguousLayout([one.profile for one in telling])
    return next((pair for pair in found if pair[0] in telling), None)


def _ranked(
    content: bytes, known: Sequence[SourceProfile], whole: Callable[[FileForm], Table]
) -> list[tuple[float, SourceProfile]]:
    """The profiles with the share of their header that the file has, the most first."""
    ways = _ways(content, whole)

    def nearness(source: SourceProfile) -> tuple[float, int]:
        headers = set(_headers(source.form, ways))
        return len(source.headers & headers) / len(source.headers), len(source.headers)

    ranked = sorted(((nearness(one), one) for one in known), key=itemgetter(0), reverse=True)
    return [(share, one) for (share, _), one in ranked]


def _first_read(
    content: bytes,
    ranked: Sequence[tuple[float, SourceProfile]],
    whole: Callable[[FileForm], Table],
    where: str,
) -> tuple[SourceProfile, Table]:
    """The nearest of the layouts that can read the file, and the table."""
    meant: str = ""
    problems: list[tuple[str, UnreadableFile]] = []
    for share, source in ranked:
        if meant and share < 1.0:
            # What another lacks says less than why the one that is meant cannot read it.
            break
        try:
            return source, whole(source.form)
        except UnreadableFile as problem:
            problems.append((source.form.kind, problem))
            meant = meant or (source.profile if share == 1.0 else "")
    if meant and len(ranked) > 1:
        first = problems[0][1]
        what = f"its header is that of {meant!r}, but {first.what}"
        raise UnreadableFile(what, where=where, remedy=first.remedy)
    raise _refusal(content, problems, where)


def _ways(content: bytes, whole: Callable[[FileForm], Table]) -> list[Callable[[FileForm], Table]]:
    """How to read a header, the cheapest way first."""
    if is_workbook(content):
        # A part of a workbook is none.
        return [whole]
    head = content if len(content) <= _HEAD else content[: content.rfind(b"\n", 0, _HEAD) + 1]
    # A head may end within a cell; where a file is damaged, its header is told by the lines above
    # the damage.
    return [partial(read, head), whole, *(partial(read, lines) for lines in _shorter(head))]


def _refuse_workbook(content: bytes, profile: str, where: str) -> None:
    """Refuse a workbook that no profile reads: for what is wrong with it, or for the want of one.

    Raises
    ------
    UnreadableFile
        If it is locked, broken or without a table, which no profile would cure.
    UnknownLayout
        Else.
    """
    _refuse_unreadable(content, where)
    reads = f"source profile {profile!r} reads none" if profile else "no source profile reads one"
    raise UnknownLayout(
        f"it is a workbook, and {reads}.",
        where=where,
        remedy=_proposal(where),
    )


def _shorter(head: bytes) -> Iterator[bytes]:
    """The first half of a text's lines, the half of these, and so on to the first line."""
    lines = head.splitlines(keepends=True)
    while len(lines) > 1:
        lines = lines[: len(lines) // 2]
        yield b"".join(lines)


def _refusal(
    content: bytes, problems: Sequence[tuple[str, UnreadableFile]], where: str
) -> UnreadableFile:
    """Why no layout can read a file: what those of its kind say of it, if they say the same."""
    found = [problem for _, problem in problems]
    if len(set(map(str, found))) > 1:
        try:
            kind = dialect(where, content).form.kind
        except UnreadableFile as problem:
            found = [problem]
        else:
            found = [problem for read_as, problem in problems if read_as == kind]
    if len(set(map(str, found))) != 1:
        what = "no source profile can read it."
        return UnreadableFile(what, where=where, remedy=_proposal(where))
    return UnreadableFile(found[0].what, where=where, remedy=found[0].remedy)


def _headers(form: FileForm, reads: Sequence[Callable[[FileForm], Table]]) -> tuple[str, ...]:
    """The header by the first of several ways to read that succeeds; none if none does."""
    for attempt in reads:
        with contextlib.suppress(UnreadableFile):
            return attempt(form).headers
    return ()
