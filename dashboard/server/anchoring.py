"""Anchors that the server keeps by itself: where, signed by which key, stamped by which authority.

Where nothing is set they go beside the store, which finds what was done carelessly and nothing
else: whoever can write the one can write the other.
"""

from dataclasses import dataclass
from pathlib import Path
from typing import Final

import httpx2
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from dashboard.server.schedule import Done
from spc.errors import InvalidInput, ServerRefused
from spc.store import Anchor, Comparison, Store, Trust
from spc.store.record import anchors, time_stamps

FILE: Final = "anchors.txt"
_PATIENCE_S: Final = 30.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Anchoring:
    """How anchors are kept.

    Attributes
    ----------
    path
        The file to which a line is added.
    elsewhere
        Whether somebody chose where that is.
    key
        Signs each line; None for none.
    authority
        Address of a time-stamp authority (RFC 3161); empty for none.
    """

    path: Path
    elsewhere: bool = False
    key: Ed25519PrivateKey | None = None
    authority: str = ""

    @property
    def told(self) -> str:
        """Where an anchor is kept, in words."""
        signed = ", signed" if self.key else ""
        stamped = ", stamped by a third party" if self.authority else ""
        if not self.elsewhere:
            return (
                f"beside the store{signed}{stamped}, where whoever can write the store can write"
                " it too; `lotheat serve --anchors FOLDER` keeps it elsewhere"
            )
        return f"in {self.path}{signed}{stamped}"

    def keep(self, store: Store) -> Done:
        """Add the anchor of a store as it is now.

        A line without its time stamp is better than none, so a silent authority stops only the
        stamp, and is told.
        """
        anchor, missing = store.anchor(), ""
        if self.key is not None:
            anchor = anchor.signed(self.key)
        if self.authority:
            try:
                anchor = anchor.stamped(self._stamp(anchor))
            except (InvalidInput, httpx2.HTTPError, httpx2.InvalidURL) as problem:
                missing = f", but without its time stamp: {str(problem) or type(problem).__name__}"
        self.path.parent.mkdir(parents=True, exist_ok=True)
        anchors.append(self.path, anchor)
        said = f"{anchor.entries} entries told in {self.path.name}{missing}"
        return Done(said=said.rstrip(".") + ".", good=not missing)

    def against(self, store: Store) -> Comparison:
        """Hold a store against the anchors that were kept."""
        text = self.path.read_text(encoding="utf-8") if self.path.exists() else ""
        if not text.strip():
            return Comparison()
        return store.against(text, Trust())

    def _stamp(self, anchor: Anchor) -> bytes:
        said = anchor.plain.encode()
        answer = httpx2.post(
            self.authority,
            content=time_stamps.request(said),
            headers={"Content-Type": "application/timestamp-query"},
            timeout=_PATIENCE_S,
        )
        answer.raise_for_status()
        return time_stamps.answered(answer.content, said)


def anchoring(
    store: Path, *, folder: Path | None = None, key: Path | None = None, authority: str = ""
) -> Anchoring:
    """How the server of a store keeps its anchors.

    Raises
    ------
    ServerRefused
        If the folder cannot be written to, or the key cannot be read.
    """
    path = store.with_name(f"{store.name}.{FILE}") if folder is None else folder / FILE
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("a", encoding="utf-8"):
            pass
        pem = key.read_bytes() if key else b""
    except OSError as problem:
        raise ServerRefused(
            f"anchors cannot be kept like this: {problem.strerror or problem}.",
            where=str(problem.filename or path),
            remedy="Name a folder that you may write to, and a key that you may read.",
        ) from problem
    return Anchoring(
        path=path,
        elsewhere=folder is not None,
        key=anchors.private_key(pem) if pem else None,
        authority=authority,
    )
