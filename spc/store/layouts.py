"""Bytes of a file to a table, by the source profile that fits it."""

import contextlib
from collections.abc import Callable, Sequence
from functools import cache, partial
from typing import Final

from spc.errors import UnknownName, UnreadableFile
from spc.intake import SourceProfile, read, recognise
from spc.intake.profile import FileForm
from spc.intake.readers import Table
from spc.store import profiles
from spc.store.connection import Cursor

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
        If no profile fits the header.
    """
    known = profiles.load(cursor)
    if profile is not None:
        named = [one for one in known if one.profile == profile]
        if not named:
            raise UnknownName("source profile", profile, known=[one.profile for one in known])
        known = named
    source, table = _nearest(content, known, where)
    # If even the nearest does not fit, this raises, and says what it lacks.
    return recognise(table.headers, [source]), table


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
    head = content if len(content) <= _HEAD else content[: content.rfind(b"\n", 0, _HEAD) + 1]

    @cache
    def whole(form: FileForm) -> Table:
        return read(content, form)

    def nearness(source: SourceProfile) -> tuple[float, int]:
        # A head may end within a cell, and that of a workbook is no workbook.
        headers = set(_headers(source.form, partial(read, head), whole))
        return len(source.headers & headers) / len(source.headers), len(source.headers)

    problems = []
    for source in sorted(known, key=nearness, reverse=True):
        try:
            return source, whole(source.form)
        except UnreadableFile as problem:
            problems.append(problem)
    raise UnreadableFile(
        problems[0].what if len(set(map(str, problems))) == 1 else "no source profile can read it.",
        where=where,
        remedy=problems[0].remedy,
    )


def _headers(form: FileForm, *reads: Callable[[FileForm], Table]) -> tuple[str, ...]:
    """The header by the first of several ways to read that succeeds; none if none does."""
    for attempt in reads:
        with contextlib.suppress(UnreadableFile):
            return attempt(form).headers
    return ()
