"""Bytes of a file to a table, by the source profile that fits it."""

import contextlib
import shlex
from collections.abc import Callable, Iterator, Sequence
from functools import cache, partial
from operator import itemgetter
from typing import Final

from spc.errors import UnknownLayout, UnknownName, UnreadableFile
from spc.intake import SourceProfile, read, recognise
from spc.intake.profiles.profile import FileForm
from spc.intake.readers import Table, is_workbook
from spc.intake.readers.dialect import dialect
from spc.store.file.cursors import Cursor
from spc.store.files import profiles

# Enough of a long file to see its header by.
_HEAD: Final = 65_536


def read_by(
    cursor: Cursor, content: bytes, *, profile: str | None, where: str
) -> tuple[SourceProfile, Table]:
    """The table by the profile named, or by the one whose header the file has.

    Raises
    ------
    UnknownName
        If there is no profile of that name.
    UnreadableFile
        If no layout can read the bytes.
    UnknownLayout
        If no profile fits the header, or none reads workbooks and it is one.
    """
    known = profiles.load(cursor)
    if profile is not None:
        named = [one for one in known if one.profile == profile]
        if not named:
            raise UnknownName("source profile", profile, known=[one.profile for one in known])
        known = named
    if is_workbook(content) and not any(one.form.kind == "workbook" for one in known):
        _refuse_workbook(content, profile or "", where)
    if profile is not None:
        return _fitting(content, known, where)
    try:
        return _fitting(content, known, where)
    except UnknownLayout as problem:
        _refuse_unreadable(content, where)
        raise UnknownLayout(problem.what, where=where, remedy=_proposal(where)) from problem


def _fitting(
    content: bytes, known: Sequence[SourceProfile], where: str
) -> tuple[SourceProfile, Table]:
    source, table = _nearest(content, known, where)
    # If even the nearest does not fit, this raises, and says what it lacks.
    return recognise(table.headers, [source]), table


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


def read_again(
    cursor: Cursor, content: bytes, *, profile: str, version: int
) -> tuple[SourceProfile, Table]:
    """The table by the newest version of its profile, or by its own if that no longer fits it."""
    first = profiles.version(cursor, profile, version)
    newest = next(one for one in profiles.load(cursor) if one.profile == profile)
    table = read(content, newest.form)
    if newest.headers <= set(table.headers):
        return newest, table
    return first, read(content, first.form)


def _nearest(
    content: bytes, known: Sequence[SourceProfile], where: str
) -> tuple[SourceProfile, Table]:
    """The layout whose header the file has most of, of those that can read it; and the table."""
    if not known:
        recognise((), known)

    @cache
    def whole(form: FileForm) -> Table:
        return read(content, form)

    ways = _ways(content, whole)

    def nearness(source: SourceProfile) -> tuple[float, int]:
        headers = set(_headers(source.form, ways))
        return len(source.headers & headers) / len(source.headers), len(source.headers)

    meant: str = ""
    problems: list[tuple[str, UnreadableFile]] = []
    for (share, _), source in sorted(
        ((nearness(one), one) for one in known), key=itemgetter(0), reverse=True
    ):
        if meant and share < 1.0:
            # What another lacks says less than why the one that is meant cannot read it.
            break
        try:
            return source, whole(source.form)
        except UnreadableFile as problem:
            problems.append((source.form.kind, problem))
            meant = meant or (source.profile if share == 1.0 else "")
    if meant and len(known) > 1:
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
