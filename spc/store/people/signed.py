"""Whether an act was signed: by a secret, a fresh sign-in, or the only user of the machine."""

from spc.errors import SignatureRefused
from spc.store.people.proofs import Actor


def refuse_unsigned(actor: Actor, *, where: str, reason_typed: str = "") -> None:
    """Refuse an act for which no secret was given.

    The system's user has none to give; the record says so with each of their acts.

    Raises
    ------
    SignatureRefused
        If somebody is known by a session or a token only.
    """
    if not actor.signed and actor.way != "system user":
        raise SignatureRefused(
            f"{actor.name} is signed in, but has not signed this.",
            where=where,
            remedy="Write `by=store.people.signing(key, secret=...)`.",
            reason_typed=reason_typed,
        )
