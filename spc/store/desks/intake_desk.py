"""The door to files once they are in: mending, and withdrawing: `Store.intake`."""

from collections.abc import Iterable, Mapping, Sequence

import pandas as pd

from spc.errors import UnknownName
from spc.intake import SourceProfile
from spc.intake.by_hand import Sheet
from spc.intake.names import of_file
from spc.store.desks.known_desk import KnownDesk
from spc.store.file.cursors import Cursor
from spc.store.files import (
    changed_results,
    correcting,
    dismissing,
    mending,
    profiles,
    receiving,
    typed_sheets,
    withdrawals,
    withdrawing,
)
from spc.store.files.changed_results import Correction
from spc.store.files.confirming import Confirmation
from spc.store.files.mending import Mend
from spc.store.files.receiving import Incoming
from spc.store.files.sorting import Sorted
from spc.store.files.withdrawals import Consequences, Kind
from spc.store.people.proofs import STORE, Actor, Proof
from spc.store.people.requests import Request
from spc.store.record import audit, receipts
from spc.store.record.receipts import Receipt


class IntakeDesk(KnownDesk):
    """What became of files, what can be mended in them, and what hangs on them."""

    def mend(
        self,
        receipt: str,
        rows: Sequence[int],
        cells: Mapping[str, str],
        *,
        by: Proof,
        reason: str,
    ) -> Receipt:
        """Put new texts into cells of held rows, and check those rows again; see `Mend`."""

        def work(cursor: Cursor, actor: Actor) -> Receipt:
            told = Mend(receipt=receipt, rows=tuple(rows), cells=cells, by=actor, reason=reason)
            return receiving.mend(cursor, told)[0]

        return self._do("mend held rows", by, work)

    def preview_mend(
        self, receipt: str, rows: Sequence[int], cells: Mapping[str, str]
    ) -> tuple[Receipt, Sorted]:
        """What `mend` would make of the rows, without doing it."""
        looked_at = Mend(
            receipt=receipt, rows=tuple(rows), cells=dict(cells), by=STORE, reason="preview"
        )
        with self._suppose() as cursor:
            return receiving.mend(cursor, looked_at)

    def confirm(self, receipt: str, rows: Sequence[int], *, by: Proof, reason: str) -> Receipt:
        """Take in held rows that a person found to be right as they stand; see `Confirmation`."""

        def work(cursor: Cursor, actor: Actor) -> Receipt:
            told = Confirmation(receipt=receipt, rows=tuple(rows), by=actor, reason=reason)
            return receiving.confirm(cursor, told)

        return self._do("mend held rows", by, work)

    def check_again(self, receipt: str, *, by: Proof) -> Receipt:
        """Read a received file again for the rows that still wait."""
        return self._do(
            "mend held rows",
            by,
            lambda cursor, actor: receiving.check_again(cursor, receipt, by=actor),
        )

    def check_all_again(self, *, by: Proof) -> list[Receipt]:
        """Check every file of which rows wait, until nothing more can be taken in."""
        return self._do(
            "mend held rows",
            by,
            lambda cursor, actor: receiving.check_all_again(cursor, by=actor),
        )

    def dismiss(self, receipt: str, source_rows: Sequence[int], *, by: Proof, reason: str) -> None:
        """End the wait of held rows of one receipt."""
        self._do(
            "mend held rows",
            by,
            lambda cursor, actor: dismissing.dismiss(
                cursor, receipt, source_rows, by=actor, reason=reason
            ),
        )

    def mends(self, receipt: str) -> pd.DataFrame:
        """What people put into the cells of a file's rows, oldest first within a row."""
        with self._read() as cursor:
            return mending.of_receipt(cursor, receipt)

    def profile_of(self, receipt: str) -> SourceProfile:
        """The newest version of the profile that a file was read by.

        Raises
        ------
        UnknownName
            If there is no such receipt, or it is a catalogue or a profile.
        """
        with self._read() as cursor:
            _, _, name, _ = receipts.content(cursor, receipt)
            for profile in profiles.load(cursor):
                if profile.profile == name:
                    return profile
        raise UnknownName("source profile", name, known=[])

    def profiles(self) -> dict[str, int]:
        """Every source profile, with its newest version."""
        with self._read() as cursor:
            return {one.profile: one.version for one in profiles.load(cursor)}

    def preview_profile(
        self, text: str, *, profile: str, name: str, content: bytes
    ) -> tuple[Receipt, Sorted]:
        """What a file would become by a profile that is not in the store yet."""
        source = Incoming(name=f"{profile}.toml", content=text.encode(), by=STORE)
        incoming = Incoming(name=of_file(name), content=content, by=STORE)
        with self._suppose() as cursor:
            receiving.receive(cursor, source, profile=None)
            return receiving.preview(cursor, incoming, profile=profile)

    def type_in(self, sheet: Sheet, rows: Iterable[Mapping[str, str]], *, by: Proof) -> Receipt:
        """Take in what a person typed into a sheet, with the checks that every file meets.

        Parameters
        ----------
        rows
            Header of the sheet to what was typed.
        by
            Who typed it.
        """
        typed = list(rows)
        return self._do(
            "type in results",
            by,
            lambda cursor, actor: typed_sheets.receive(
                cursor, sheet, typed, by=actor, at=audit.moment(cursor)
            ),
        )

    def preview_typed(
        self, sheet: Sheet, rows: Iterable[Mapping[str, str]]
    ) -> tuple[Receipt, Sorted]:
        """What `type_in` would make of the rows, without doing it."""
        with self._suppose() as cursor:
            return typed_sheets.preview(cursor, sheet, rows, at=audit.moment(cursor))

    def files(self) -> pd.DataFrame:
        """Files with results that stand, the last received first: receipt, name, results."""
        with self._read() as cursor:
            return withdrawals.files(cursor)

    def sensor_batches(self) -> pd.DataFrame:
        """Sensor batches with results that stand, newest first, with how many of how many lots."""
        with self._read() as cursor:
            return withdrawals.batches(cursor)

    def would_change(self, kind: Kind, name: str) -> Consequences:
        """What would follow if the results of a file or a sensor batch were withdrawn."""
        with self._suppose() as cursor:
            return withdrawals.suppose(cursor, kind, name)

    def ask_withdrawal(self, kind: Kind, name: str, *, cause: str, by: Proof) -> Request:
        """Write down that a file or a sensor batch is to be withdrawn; nobody has signed it yet."""
        return self._write_down(
            by, lambda cursor, _: withdrawing.ask(cursor, kind, name, cause=cause)
        )

    def withdraw(
        self, kind: Kind, name: str, *, cause: str, by: Proof, second: Proof | None = None
    ) -> Request:
        """Make every result of a file or a sensor batch void.

        Returns
        -------
        Request
            Complete, or waiting for a second person; every result counts until then.
        """
        return self._sign_here(
            by,
            lambda cursor, _: withdrawing.ask(cursor, kind, name, cause=cause),
            business=withdrawing.BUSINESS,
            second=second,
        )

    def would_correct(self, receipt: str, rows: Sequence[int]) -> Correction:
        """Old and new of held rows that contradict results, and what would follow; see `correct`.

        Raises
        ------
        InvalidInput
            If a row does not wait for a changed result, or contradicts more than results.
        UnknownName
            If a row does not wait.
        """
        with self._suppose() as cursor:
            return changed_results.would_change(cursor, receipt, rows)

    def ask_correction(
        self, receipt: str, rows: Sequence[int], *, reason: str, by: Proof
    ) -> Request:
        """Write down that held rows are to correct results; nobody has signed it yet."""
        return self._write_down(
            by, lambda cursor, _: correcting.ask(cursor, receipt, rows, reason=reason)
        )

    def correct(
        self,
        receipt: str,
        rows: Sequence[int],
        *,
        reason: str,
        by: Proof,
        second: Proof | None = None,
    ) -> Request:
        """Let what held rows say supersede the results that stand; both stay in the record.

        Returns
        -------
        Request
            Complete, or waiting for a second person where a lot is decided; the old results count
            until then.
        """
        return self._sign_here(
            by,
            lambda cursor, _: correcting.ask(cursor, receipt, rows, reason=reason),
            business=correcting.BUSINESS,
            second=second,
        )

    def corrections(self, lot: str) -> pd.DataFrame:
        """The corrected results of a lot, old and new, with who, when and why."""
        with self._read() as cursor:
            return changed_results.of_lot(cursor, lot)
