"""The door to stock and blends: `Store.blends`."""

from collections.abc import Mapping, Sequence
from datetime import date

import pandas as pd
import tomli_w

from spc.store.blends import (
    blend_records,
    blends,
    drawn,
    fitness,
    making,
    parentage,
    predictions,
    signing,
    stock,
    stock_moves,
)
from spc.store.blends.bags import Move
from spc.store.blends.blend_records import Blend
from spc.store.blends.blends import Signed
from spc.store.blends.drafts import Draft, Predicted
from spc.store.blends.drawn import Drawn
from spc.store.blends.made_lot import OWN
from spc.store.blends.making import Made
from spc.store.blends.stock import Stock
from spc.store.desks.known_desk import KnownDesk
from spc.store.file.cursors import Cursor
from spc.store.files import receiving
from spc.store.files.receiving import Incoming
from spc.store.people.proofs import Actor, Proof
from spc.store.people.requests import Request
from spc.store.record.receipts import Receipt


class BlendDesk(KnownDesk):
    """What is in stock, what was planned from it, and what became of it."""

    def stock(self, *, material: str = "", lots: Sequence[str] = ()) -> Stock:
        """What recipes are made from: every lot with what is left of it and what is known of it."""
        with self._read() as cursor:
            return stock.stock(cursor, material=material, wanted=lots)

    def moves(self, lot: str) -> pd.DataFrame:
        """Everything that happened to the stock of one lot, oldest first."""
        with self._read() as cursor:
            return stock_moves.of_lot(cursor, lot)

    def count(
        self,
        lot: str,
        *,
        bags: int,
        bag_kg: float | None = None,
        opened_kg: float = 0.0,
        by: Proof,
        reason: str,
    ) -> None:
        """Record what was found of a lot: whole bags, the kg of one, and the kg in opened ones."""
        found = stock_moves.counted(lot, bags=bags, bag_kg=bag_kg, opened_kg=opened_kg)
        self._do(
            "move stock",
            by,
            lambda cursor, actor: stock_moves.count(cursor, found, by=actor, reason=reason),
        )

    def take_stock(self, found: Sequence[Move], *, by: Proof, reason: str) -> None:
        """Record what was found of many lots at once; see `stock_moves.counted`."""
        self._do(
            "move stock",
            by,
            lambda cursor, actor: stock_moves.take(cursor, found, by=actor, reason=reason),
        )

    def consume(self, lot: str, *, kg: float, by: Proof, reason: str) -> None:
        """Record that some of a lot went elsewhere than into a blend."""
        self._do(
            "move stock",
            by,
            lambda cursor, actor: stock_moves.consume(cursor, lot, kg=kg, by=actor, reason=reason),
        )

    def introduce(self, *, country: str, by: Proof) -> Receipt:
        """Add to the catalogue the supplier in whose name blends made here stand.

        Parameters
        ----------
        country
            Where the house blends.
        """
        text = "[[supplier]]\n" + tomli_w.dumps({"supplier": OWN, "country": country})

        def work(cursor: Cursor, actor: Actor) -> Receipt:
            incoming = Incoming(name="own_blend.toml", content=text.encode(), by=actor)
            return receiving.receive(cursor, incoming, profile=None)

        return self._do("receive files", by, work)

    def save(self, draft: Draft, *, by: Proof) -> str:
        """Keep a draft with the lot means it rests on; returns its key."""
        return self._do(
            "draft a blend", by, lambda cursor, actor: blends.save(cursor, draft, by=actor)
        )

    def ask_approval(self, blend: str, *, by: Proof, reason: str = "") -> Request:
        """Write down that a draft is to be approved; nobody has signed it yet."""
        return self._write_down(
            by, lambda cursor, _: signing.ask_approval(cursor, blend, reason=reason)
        )

    def approve(
        self, blend: str, *, by: Proof, second: Proof | None = None, reason: str = ""
    ) -> Request:
        """Let a draft be issued; two persons if a lot was accepted for a use and a time only.

        Returns
        -------
        Request
            Complete, or waiting for a second person; the draft is as it was then.
        """
        return self._sign_here(
            by,
            lambda cursor, _: signing.ask_approval(cursor, blend, reason=reason),
            business=signing.BUSINESS,
            second=second,
        )

    def ask_issue(self, blend: str, *, by: Proof, reason: str = "") -> Request:
        """Write down that a blend is to be issued; nobody has signed it yet."""
        return self._write_down(
            by, lambda cursor, actor: signing.ask_issue(cursor, actor, blend, reason=reason)
        )

    def issue(
        self, blend: str, *, by: Proof, second: Proof | None = None, reason: str = ""
    ) -> Request:
        """Set the stock aside and hand the sheet out; two persons if its drafter issues it.

        Returns
        -------
        Request
            Complete, or waiting for a second person; nothing is set aside then.
        """
        return self._sign_here(
            by,
            lambda cursor, actor: signing.ask_issue(cursor, actor, blend, reason=reason),
            business=signing.BUSINESS,
            second=second,
        )

    def make(  # noqa: PLR0913 - a record of making has these parts
        self,
        blend: str,
        *,
        lot: str,
        weighed: Mapping[str, float],
        packages: int | None = None,
        package_kg: float | None = None,
        predicted: Sequence[Predicted] = (),
        made_on: date | None = None,
        by: Proof,
        reason: str = "",
    ) -> Receipt:
        """Record that a blend was made; see `Made` and `making.make`."""
        made = Made(
            lot=lot,
            weighed=dict(weighed),
            packages=packages,
            package_kg=package_kg,
            predicted=tuple(predicted),
            made_on=made_on,
        )
        return self._do(
            "make a blend",
            by,
            lambda cursor, actor: making.make(cursor, blend, made, Signed(by=actor, reason=reason)),
        )

    def cancel(self, blend: str, *, by: Proof, reason: str) -> None:
        """Give up a blend that was not made; its stock can be used again."""
        self._do(
            "cancel a blend",
            by,
            lambda cursor, actor: blends.cancel(cursor, blend, Signed(by=actor, reason=reason)),
        )

    def every(self, *, status: str = "") -> pd.DataFrame:
        """All blends, or those in one state, the newest draft first."""
        with self._read() as cursor:
            return blend_records.every(cursor, status=status)

    def one(self, blend: str) -> Blend:
        """One blend with where it stands."""
        with self._read() as cursor:
            return blend_records.one(cursor, blend)

    def portions(self, wanted: Sequence[str]) -> pd.DataFrame:
        """What several blends take, one line a blend and lot."""
        with self._read() as cursor:
            return blend_records.portions(cursor, wanted)

    def predicted(self, wanted: Sequence[str]) -> pd.DataFrame:
        """What was predicted of several blends, one line a blend and characteristic."""
        with self._read() as cursor:
            return blend_records.predicted(cursor, wanted)

    def events(self, blend: str) -> pd.DataFrame:
        """What happened to a blend since it was drafted, oldest first."""
        with self._read() as cursor:
            return blend_records.events(cursor, blend)

    def against(self, blend: str) -> list[str]:
        """What stands against making a blend now, a sentence each; empty if nothing does."""
        with self._read() as cursor:
            return fitness.against(cursor, blend_records.one(cursor, blend))

    def drawn(self, *lots: str) -> tuple[Drawn, ...]:
        """What is in blends of some lots, and of the lots that those blends became."""
        with self._read() as cursor:
            return drawn.drawn(cursor, lots)

    def used(self) -> list[str]:
        """Every lot of which some is in a blend or set aside for one."""
        with self._read() as cursor:
            return drawn.used(cursor)

    def parents(self, lot: str) -> pd.DataFrame:
        """What was weighed into a lot; empty for a lot that was bought."""
        with self._read() as cursor:
            return parentage.parents(cursor, lot)

    def children(self, lot: str) -> pd.DataFrame:
        """The lots that a lot was weighed into."""
        with self._read() as cursor:
            return parentage.children(cursor, lot)

    def trace(self, lot: str) -> pd.DataFrame:
        """Every lot that holds some of a lot, through any number of blends, for a recall."""
        with self._read() as cursor:
            return parentage.trace(cursor, lot)

    def against_measured(self, *, characteristic: str = "") -> pd.DataFrame:
        """What was predicted of the blends that were made, against what was measured of them."""
        with self._read() as cursor:
            return predictions.against_measured(cursor, characteristic=characteristic)
