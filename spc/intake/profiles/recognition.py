"""Which source profile a file is read by: the one its header asks for, and never one of two."""

from collections.abc import Collection, Sequence

from spc.errors import AmbiguousLayout, UnknownLayout
from spc.intake.profiles.profile import SourceProfile


def recognise(headers: Collection[str], profiles: Sequence[SourceProfile]) -> SourceProfile:
    """The profile whose headers a file has all of; if several, the one that has those of all.

    Raises
    ------
    AmbiguousLayout
        If several fit, and none of them reads all that the others do.
    UnknownLayout
        If no profile fits, with the profile that came nearest and what it lacked.
    """
    fitting = most_telling([one for one in profiles if one.headers <= set(headers)])
    if len(fitting) > 1:
        raise AmbiguousLayout([one.profile for one in fitting])
    if fitting:
        return fitting[0]
    if not profiles:
        raise UnknownLayout(
            "the store has no source profile yet.",
            remedy="Receive the profile (a TOML file) of this source first.",
        )
    nearest = max(profiles, key=lambda one: len(one.headers & set(headers)) / len(one.headers))
    lacking = sorted(nearest.headers - set(headers))
    raise UnknownLayout(
        f"no source profile fits its columns; the nearest, {nearest.profile!r}, lacks"
        f" {', '.join(repr(name) for name in lacking[:3])}.",
        remedy="Write a source profile for it (see README) or correct the file's header.",
    )


def most_telling(fitting: Sequence[SourceProfile]) -> list[SourceProfile]:
    """Those of some profiles that fit one header which read something that no other does."""
    return [one for one in fitting if not any(one.headers < other.headers for other in fitting)]
