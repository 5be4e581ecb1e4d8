"""What is asked of a store as a file: its copies, its chain, and whether it can be believed."""

from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import Self

import pandas as pd

from spc.store import backup, verification
from spc.store.desks.desk import Desk
from spc.store.record import anchors, audit
from spc.store.record.anchors import Anchor, Comparison, Trust
from spc.store.verification import Verification


class Keeping(Desk):
    """The part of a store that does not ask what its rows say."""

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        problem: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        self._connection.close()

    @property
    def path(self) -> Path:
        """Where the file is."""
        return self._connection.path

    def backup(self, path: str | Path) -> None:
        """Copy what the store holds now into a new file, while it is in use.

        The anchor of the copy is written beside it.

        Raises
        ------
        StoreError
            If there is a file already, or it cannot be written; nothing is left of it then.
        """
        with self._read() as cursor:
            backup.copy(cursor, Path(path), anchor=anchors.anchor(cursor).line)

    def revision(self) -> tuple[str, int]:
        """Names the state of the store: its file, and how many writes the audit chain holds."""
        with self._read() as cursor:
            return str(self.path), audit.length(cursor)

    def audit(self, subject: str = "", *, most: int = 200) -> pd.DataFrame:
        """The newest entries of the audit chain, about one subject or all."""
        with self._read() as cursor:
            return audit.newest(cursor, subject=subject, most=most)

    def verify(self, progress: Callable[[str], None] = lambda _step: None) -> Verification:
        """Derive every value again and check every seal."""
        with self._read() as cursor:
            return verification.verify(cursor, progress)

    def anchor(self) -> Anchor:
        """The head of the audit chain now, to be kept elsewhere."""
        with self._read() as cursor:
            return anchors.anchor(cursor)

    def against(self, text: str, trust: Trust | None = None) -> Comparison:
        """Hold the audit chain against lines that were kept elsewhere; see `anchors.against`."""
        with self._read() as cursor:
            return anchors.against(cursor, text, trust or Trust())
