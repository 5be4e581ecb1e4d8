"""Who looks at a run of a page; asked at every run, because a session can end between two."""

from dashboard.frame import acting
from dashboard.gate.entrance import Entrance
from dashboard.gate.signed_in import SignedIn
from spc.store.people import Proof

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


def name() -> str:
    """What whoever looks is called; empty once their session has ended."""
    who = present()
    return "" if who is None else who.name


def proof() -> Proof:
    """What the doors of the store take as `by=`: who looks, and has pressed a button."""
    return acting.proof()
