"""Anchors: the head of the audit chain, told where whoever can write the store need not reach.

The chain shows that nothing in it was changed unless all of it was made anew from there on, and
that nothing is missing unless it was cut at its end.  A line that tells how many entries there were
and the hash of the last, kept elsewhere, shows both: no other past gives that hash.  The line alone
does not show who wrote it, or when; a signature or a time stamp from a third party does.
"""

import base64
import binascii
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import load_pem_private_key, load_pem_public_key

from spc.errors import InvalidInput
from spc.store.file.cursors import Cursor
from spc.store.record import audit, time_stamps

LINE: Final = re.compile(
    r"(?P<at>[0-9-]{10}T[0-9:]{8}Z) entries (?P<entries>\d+) head (?P<head>[0-9a-f]{64})"
    r"(?: ed25519 (?P<signature>\S+))?(?: rfc3161 (?P<token>\S+))?"
)

HEAD: Final = "select hash from audit where sequence = $entries"

_WRITTEN: Final = "%Y-%m-%dT%H:%M:%SZ"


@dataclass(frozen=True, slots=True, kw_only=True)
class Anchor:
    """The head of a chain at a time.

    Attributes
    ----------
    at
        UTC without zone, to the second.
    entries, head
        How many entries there were, and the hash of the last.
    signature
        Ed25519 over the plain line; empty for none.
    token
        The answer of a time-stamp authority (RFC 3161) for the plain line; empty for none.
    """

    at: datetime
    entries: int
    head: str
    signature: bytes = b""
    token: bytes = b""

    @property
    def plain(self) -> str:
        """Time, entries and head: what is signed and stamped."""
        return f"{self.at.strftime(_WRITTEN)} entries {self.entries} head {self.head}"

    @property
    def line(self) -> str:
        """All of it in one line."""
        signed = f" ed25519 {_encoded(self.signature)}" if self.signature else ""
        stamped = f" rfc3161 {_encoded(self.token)}" if self.token else ""
        return f"{self.plain}{signed}{stamped}"

    def signed(self, key: Ed25519PrivateKey) -> "Anchor":
        """With a signature of a key that is best kept outside the store's reach."""
        return replace(self, signature=key.sign(self.plain.encode()))

    def stamped(self, token: bytes) -> "Anchor":
        """With the answer of a time-stamp authority to `time_stamps.request` of the plain line."""
        return replace(self, token=token)


@dataclass(frozen=True, slots=True, kw_only=True)
class Trust:
    """Whose anchors are believed.

    Attributes
    ----------
    key
        PEM of the public key that every line must be signed with; empty to ask for none.
    root
        PEM of the certificate that a time stamp must go back to; empty to look at none.
    """

    key: bytes = b""
    root: bytes = b""


@dataclass(slots=True, kw_only=True)
class Comparison:
    """What anchors say of a store.

    Attributes
    ----------
    held
        A sentence for each anchor that the store holds.
    faults
        A sentence for each that it does not, or that cannot be believed.
    """

    held: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)


def anchor(cursor: Cursor) -> Anchor:
    """The head of the chain now."""
    entries = audit.length(cursor)
    at = audit.moment(cursor).replace(microsecond=0)
    return Anchor(at=at, entries=entries, head=_head(cursor, entries) or audit.FIRST)


def append(path: Path, one: Anchor) -> None:
    """Add a line to a file of anchors."""
    with path.open("a", encoding="utf-8") as file:
        file.write(f"{one.line}\n")


def against(cursor: Cursor, text: str, trust: Trust = Trust()) -> Comparison:
    """Hold a store against lines that were kept elsewhere; blank ones are passed over.

    Raises
    ------
    InvalidInput
        If there is no line, or a key or certificate cannot be read.
    """
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    if not lines:
        raise InvalidInput(
            "there is no anchor in it.",
            where="anchors",
            remedy="Name a file of lines that `lotheat verify` or `lotheat backup` wrote.",
        )
    key = public_key(trust.key) if trust.key else None
    root = time_stamps.certificate(trust.root) if trust.root else None
    length, told = audit.length(cursor), Comparison()
    for number, line in enumerate(lines, start=1):
        one = parse(line)
        if one is None:
            told.faults.append(f"line {number} is no anchor: {line[:60]!r}.")
            continue
        wrong = [*_unsigned(one, key), *_unstamped(one, root), *_unlike(cursor, one, length)]
        told.faults += [f"the anchor of {one.at:%Y-%m-%d %H:%M:%S} {what}" for what in wrong]
        if not wrong:
            told.held += _held(one, length, signed=key is not None, root=root)
    return told


def parse(line: str) -> Anchor | None:
    """An anchor from its line; None if it is none."""
    found = LINE.fullmatch(line)
    if found is None:
        return None
    try:
        return Anchor(
            at=datetime.strptime(found["at"], _WRITTEN).replace(tzinfo=UTC).replace(tzinfo=None),
            entries=int(found["entries"]),
            head=found["head"],
            signature=base64.b64decode(found["signature"] or "", validate=True),
            token=base64.b64decode(found["token"] or "", validate=True),
        )
    except (ValueError, binascii.Error):
        return None


def public_key(pem: bytes) -> Ed25519PublicKey:
    """The key that signatures are checked with.

    Raises
    ------
    InvalidInput
        If it is no Ed25519 public key.
    """
    try:
        key = load_pem_public_key(pem)
    except ValueError as problem:
        raise _no_key("public") from problem
    if not isinstance(key, Ed25519PublicKey):
        raise _no_key("public")
    return key


def private_key(pem: bytes, *, secret: bytes | None = None) -> Ed25519PrivateKey:
    """The key that anchors are signed with.

    Raises
    ------
    InvalidInput
        If it is no Ed25519 private key, or the secret does not open it.
    """
    try:
        key = load_pem_private_key(pem, password=secret)
    except (TypeError, ValueError) as problem:
        raise _no_key("private") from problem
    if not isinstance(key, Ed25519PrivateKey):
        raise _no_key("private")
    return key


def _head(cursor: Cursor, entries: int) -> str | None:
    row = cursor.execute(HEAD, {"entries": entries}).fetchone()
    return str(row[0]) if row else None


def _unlike(cursor: Cursor, one: Anchor, length: int) -> Iterator[str]:
    if one.entries > length:
        yield (
            f"knows {one.entries} entries of the audit chain, and the store has {length}: entries"
            " were cut off, or it is another store."
        )
    elif (_head(cursor, one.entries) or audit.FIRST) != one.head:
        yield (
            f"knows another audit entry {one.entries}: the chain was written anew at or before it,"
            " or it is another store."
        )


def _unsigned(one: Anchor, key: Ed25519PublicKey | None) -> Iterator[str]:
    if key is None:
        return
    try:
        key.verify(one.signature, one.plain.encode())
    except InvalidSignature:
        yield "is not signed with the key."


def _unstamped(one: Anchor, root: time_stamps.Root | None) -> Iterator[str]:
    if one.token and root is not None:
        yield from time_stamps.faults(one.token, one.plain.encode(), root)


def _held(
    one: Anchor, length: int, *, signed: bool, root: time_stamps.Root | None
) -> Iterable[str]:
    since = length - one.entries
    came = "no entry" if since == 0 else "1 entry" if since == 1 else f"{since} entries"
    more = ", signed" if signed else ", its signature not looked at" if one.signature else ""
    if one.token and root is not None:
        more += f", stamped {time_stamps.stamped_at(one.token):%Y-%m-%d %H:%M:%S}"
    elif one.token:
        more += ", its time stamp not looked at"
    at = one.at.strftime("%Y-%m-%d %H:%M:%S")
    yield f"the anchor of {at} holds: {one.entries} entries{more}; {came} since."


def _encoded(content: bytes) -> str:
    return base64.b64encode(content).decode()


def _no_key(kind: str) -> InvalidInput:
    return InvalidInput(
        f"it is no {kind} Ed25519 key that can be read.",
        where="key",
        remedy=f"Give the {kind} key as PEM; `openssl genpkey -algorithm ed25519` makes one.",
    )
