"""Who looks at a run of a page; asked at every run, because a session can end between two."""

from dashboard.frame import acting
from dashboard.gate.entrance import Entrance
from dashboard.gate.signed_in import SignedIn

_HELD: list[Entrance] = []


def hold(entrance: Entrance) -> None:
    """Make an entrance the one that the pages of this process ask."""
    _HELD[:] = [entrance]
    acting.hold(acting.cookie(entrance.cookie.name))


def present() -> SignedIn | None:
    """Whose page this is; None once their session has ended, and where nobody can have come in."""
    if not _HELD:
        return None
    return _HELD[0].lookup(acting.key())
