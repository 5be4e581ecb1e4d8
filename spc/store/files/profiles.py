"""Source profiles as the store keeps them: their own text, versioned."""

from typing import Final

from spc.errors import BadProfile, UnknownName
from spc.intake.profiles.profile import SourceProfile, parse
from spc.store.file.cursors import Cursor
from spc.store.record import rows

NEWEST: Final = """
    select text
    from source_profile
    qualify row_number() over (partition by profile order by version desc) = 1
    order by profile
"""


def load(cursor: Cursor) -> list[SourceProfile]:
    """The newest version of every profile."""
    return [parse(text) for (text,) in cursor.execute(NEWEST).fetchall()]


def version(cursor: Cursor, profile: str, number: int) -> SourceProfile:
    """One version of a profile, as a receipt used it."""
    row = cursor.execute(
        "select text from source_profile where profile = ? and version = ?", [profile, number]
    ).fetchone()
    if row is None:
        raise UnknownName("source profile", f"{profile} {number}", known=[])
    return parse(row[0])


def save(cursor: Cursor, text: str, *, receipt: str) -> None:
    """Keep a profile; its very bytes were received before, if its text was.

    Raises
    ------
    BadProfile
        If its version exists.
    """
    profile = parse(text)
    same = cursor.execute(
        "select 1 from source_profile where profile = ? and version = ?",
        [profile.profile, profile.version],
    ).fetchone()
    if same:
        raise BadProfile(
            f"version {profile.version} is in the store with another text.",
            where=f"profile {profile.profile}",
            remedy="Give the changed profile the next version number.",
        )
    row = {
        "profile": profile.profile,
        "version": profile.version,
        "text": text,
        "receipt": receipt,
    }
    rows.insert(cursor, "source_profile", [row])
