"""`Store`: a thin face over the file; every call opens its own cursor."""

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any, Self

import pandas as pd

from spc.acceptance import LotVerdict, Specification
from spc.derivation import worked
from spc.errors import IntakeError, UnknownName
from spc.heat import Chain
from spc.intake import Catalogue
from spc.intake.corrections import AdoptedCorrection
from spc.intake.names import of_file
from spc.store.catalogue import catalogue
from spc.store.connection import Connection
from spc.store.desks.deciding import Decisions
from spc.store.desks.every_desk import Desks
from spc.store.desks.keeping import Keeping
from spc.store.file.cursors import Cursor
from spc.store.files import receiving
from spc.store.files.receiving import Incoming
from spc.store.files.sorting import Sorted
from spc.store.lots import (
    attachments,
    draws,
    gathering,
    invalidations,
    judgement,
    lots,
    results,
    voiding,
)
from spc.store.lots.lots import Lot
from spc.store.people.proofs import Actor, Proof
from spc.store.people.requests import Request
from spc.store.record import receipts
from spc.store.record.receipts import Receipt
from spc.store.streams import baselines, investigations, streams, surveys
from spc.store.streams.baselines import Choice
from spc.store.streams.streams import Stream, StreamKey
from spc.store.streams.surveys import Survey


class Store(Decisions, Desks, Keeping):
    """One store, safe to use from many threads of one process."""

    @classmethod
    def open(cls, path: str | Path, *, read_only: bool = False) -> Self:
        """Open a store's file, or make one.

        Parameters
        ----------
        read_only
            To look at a file that is there, such as a write-protected copy; nothing is written.

        Raises
        ------
        StoreInUse
            If another process has it open.
        NewerSchema, OlderSchema, ChangedSchema, NotAStore
            If the file is not ours to change, is to be read only and needs a step of the schema
            first, or holds what no lotheat made.
        """
        return cls(Connection(Path(path), read_only=read_only))

    def receive(self, path: str | Path, profile: str | None = None, *, by: Proof) -> Receipt:
        """Take in a file: rows in = stored + held + known, in one transaction.

        Parameters
        ----------
        path
            A result file, a catalogue (TOML) or a source profile (TOML).
        profile
            Name of the source profile; recognised by the header if not given.
        by
            A proof of who brings it: `store.people.system_user()` where nobody has an account, else
            a session, a token, or a name with its secret.

        Raises
        ------
        IntakeError
            If it cannot be read at all; nothing but an audit entry is written.
        NotKnown, NotAllowed
            If it is no proof, or of somebody who may not.
        """
        file = Path(path)
        try:
            content = file.read_bytes()
        except OSError as problem:
            raise IntakeError(
                f"{problem.strerror}.", where=str(path), remedy="Check the path and its rights."
            ) from problem
        return self.receive_bytes(file.name, content, profile, by=by)

    def receive_bytes(
        self, name: str, content: bytes, profile: str | None = None, *, by: Proof
    ) -> Receipt:
        """Take in a file that is already in memory; see `receive`."""

        def take(cursor: Cursor, actor: Actor) -> Receipt:
            incoming = Incoming(name=of_file(name), content=content, by=actor)
            return receiving.receive(cursor, incoming, profile=profile)

        try:
            return self._do("receive files", by, take)
        except IntakeError as problem:
            refused = problem
            self._do(
                "receive files",
                by,
                lambda cursor, actor: receiving.refusal(
                    cursor, Incoming(name=of_file(name), content=content, by=actor), refused
                ),
            )
            raise

    def preview(
        self, name: str, content: bytes, profile: str | None = None, *, by: Proof
    ) -> tuple[Receipt, Sorted]:
        """What `receive_bytes` would do with a file of rows, without doing it."""
        with self._read() as cursor:
            actor = self._permitted(cursor, "receive files", by)
            incoming = Incoming(name=of_file(name), content=content, by=actor)
            return receiving.preview(cursor, incoming, profile=profile)

    def receipts(self) -> pd.DataFrame:
        """All receipts, newest first, with how many of their rows are still held."""
        with self._read() as cursor:
            return receipts.every(cursor)

    def receipt_bytes(self, receipt: str) -> tuple[str, bytes]:
        """Name and bytes of a received file."""
        with self._read() as cursor:
            name, content, *_ = receipts.content(cursor, receipt)
            return name, content

    def held(self, receipt: str = "") -> pd.DataFrame:
        """Rows that still wait for a person, of one receipt or of all."""
        with self._read() as cursor:
            return receipts.held(cursor, receipt)

    def catalogue(self) -> Catalogue:
        """Materials, suppliers, characteristics, methods and specifications."""
        with self._read() as cursor:
            return catalogue.load(cursor)

    def today(self) -> date:
        """The day it is; a store for trying things out stands still at its own."""
        with self._read() as cursor:
            return gathering.today_of(cursor)

    def lots(self, *, waiting: bool = False) -> pd.DataFrame:
        """All lots with their latest decision in order of receipt, or those that still wait."""
        with self._read() as cursor:
            return lots.every(cursor, waiting=waiting)

    def lot(self, lot: str) -> Lot:
        """One lot."""
        with self._read() as cursor:
            return lots.one(cursor, lot)

    def results(self, lot: str = "") -> pd.DataFrame:
        """Results that stand, of one lot or of all."""
        with self._read() as cursor:
            return results.current(cursor, lot)

    def calculation(self, result: str) -> tuple[dict[str, Any], Chain, dict[str, str]]:
        """How a value came about: the result, its worked calculation, and its row as it came."""
        with self._read() as cursor:
            one = results.one(cursor, result)
            if one is None:
                raise UnknownName("result", result, known=[])
            row = receiving.original_row(cursor, one["receipt"], one["source_row"])
        return one, worked(one), row

    def stream_keys(self) -> list[StreamKey]:
        """Every stream that has a result."""
        with self._read() as cursor:
            return streams.keys(cursor)

    def stream(self, key: StreamKey) -> Stream:
        """The readings of one stream, in order of receipt."""
        with self._read() as cursor:
            return streams.stream(cursor, key)

    def sweep(self, *, material: str = "", supplier: str = "") -> Survey:
        """Every stream charted in one pass, or those of a material and a supplier."""
        with self._read() as cursor:
            return surveys.survey(cursor, material=material, supplier=supplier)

    def verdict(self, lot: str) -> LotVerdict:
        """One lot against its specification."""
        return self.verdicts([lot])[lot]

    def verdicts(
        self,
        names: Sequence[str],
        *,
        proposed: Specification | None = None,
        adopting: Sequence[AdoptedCorrection] = (),
    ) -> dict[str, LotVerdict]:
        """Several lots as they stand, or under a proposed specification or correction."""
        with self._read() as cursor:
            return judgement.verdicts(cursor, names, proposed=proposed, adopting=adopting)

    def freeze_baseline(self, key: StreamKey, choice: Choice, *, by: Proof, reason: str) -> int:
        """Freeze the lots that a stream's limits rest on; returns the version."""
        return self._do(
            "freeze a baseline",
            by,
            lambda cursor, actor: baselines.freeze(cursor, key, choice, by=actor, reason=reason),
        )

    def baselines(self, key: StreamKey) -> pd.DataFrame:
        """Every version of a stream's baseline, newest first."""
        with self._read() as cursor:
            return baselines.history(cursor, key)

    def investigate(
        self,
        key: StreamKey,
        lot: str,
        *,
        signals: Sequence[str],
        cause: str,
        action: str,
        by: Proof,
    ) -> str:
        """Note the cause of a signal and what is done about it; returns its name."""
        return self._do(
            "investigate a signal",
            by,
            lambda cursor, actor: investigations.start(
                cursor, key, lot, signals=signals, found=(cause, action), by=actor
            ),
        )

    def close_investigation(self, name: str, *, conclusion: str, by: Proof) -> None:
        """End an investigation."""
        self._do(
            "investigate a signal",
            by,
            lambda cursor, actor: investigations.close(
                cursor, name, conclusion=conclusion, by=actor
            ),
        )

    def investigations(self, key: StreamKey) -> pd.DataFrame:
        """Investigations of one stream, newest first."""
        with self._read() as cursor:
            return investigations.of_stream(cursor, key)

    def ask_invalidation(self, result: str, *, cause: str, by: Proof) -> Request:
        """Write down that a result is to be void; nobody has signed it yet."""
        return self._write_down(by, lambda cursor, _: voiding.ask(cursor, result, cause=cause))

    def invalidate(
        self, result: str, *, cause: str, by: Proof, second: Proof | None = None
    ) -> Request:
        """Make a result void for a laboratory cause; it stays in the record.

        Returns
        -------
        Request
            Complete, or waiting for a second person; the result counts until then.
        """
        return self._sign_here(
            by,
            lambda cursor, _: voiding.ask(cursor, result, cause=cause),
            business=voiding.BUSINESS,
            second=second,
        )

    def invalidations(self, lot: str) -> pd.DataFrame:
        """The void results of a lot."""
        with self._read() as cursor:
            return invalidations.of_lot(cursor, lot)

    def attach(self, lot: str, *, name: str, content: bytes, note: str, by: Proof) -> str:
        """Keep a file with a lot; returns its key."""
        return self._do(
            "attach files",
            by,
            lambda cursor, actor: attachments.attach(
                cursor, lot, name=name, content=content, note=note, by=actor
            ),
        )

    def draw(self, lot: str, *, count: int, seed: int, convention: str, by: Proof) -> list[int]:
        """Choose packages of a lot at random, and record the draw."""
        return self._do(
            "draw packages",
            by,
            lambda cursor, actor: draws.draw(
                cursor, lot, count=count, seed=seed, convention=convention, by=actor
            ),
        )

    def draws(self, lot: str) -> list[dict[str, Any]]:
        """What was drawn of a lot, oldest first."""
        with self._read() as cursor:
            return draws.of_lot(cursor, lot)

    def attachments(self, lot: str) -> pd.DataFrame:
        """What is attached to a lot."""
        with self._read() as cursor:
            return attachments.of_lot(cursor, lot)

    def attachment_bytes(self, attachment: str) -> tuple[str, bytes]:
        """Name and bytes of an attachment."""
        with self._read() as cursor:
            return attachments.content(cursor, attachment)
