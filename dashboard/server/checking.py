"""The record checked in words that programs read: beside a server, and without one."""

from collections.abc import Callable
from typing import Any

from spc.store import Comparison, Store, Trust, Verification


def check(
    store: Store, progress: Callable[[str], None] = lambda _step: None, **given: str
) -> dict[str, Any]:
    """Check a store, and hold it against what is given; see `compared`."""
    # What cannot be read is told before the long work begins.
    against = compared(store, **given)
    return told(store.verify(progress), against, anchor=store.anchor().line)


def compared(store: Store, *, against: str = "", key: str = "", root: str = "") -> Comparison:
    """Hold a store against anchors that were kept elsewhere.

    Parameters
    ----------
    against
        Lines of anchors; empty for none.
    key, root
        PEM of what signatures and time stamps are checked with; empty for none.

    Raises
    ------
    InvalidInput
        If there is no line in `against`, or a key cannot be read.
    """
    trust = Trust(key=key.encode(), root=root.encode())
    return store.against(against, trust) if against else Comparison()


def told(outcome: Verification, against: Comparison, *, anchor: str) -> dict[str, Any]:
    """What `verify --json` prints."""
    faults = [*outcome.faults, *against.faults]
    return {
        "ok": not faults,
        "checked": dict(outcome.checked),
        "faults": faults,
        "notes": list(outcome.notes),
        "anchors": list(against.held),
        "anchor": anchor,
    }
