"""A blend that was made: what was weighed in is consumed, and what came out is a lot of its own."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Final

from spc.errors import InvalidInput
from spc.store.blends import blends, drafts, made_lot, stock_moves
from spc.store.blends.bags import Move, kilograms
from spc.store.blends.blend_records import Blend
from spc.store.blends.blends import Signed
from spc.store.blends.drafts import Predicted
from spc.store.blends.made_lot import Output
from spc.store.catalogue import catalogue
from spc.store.file.cursors import Cursor
from spc.store.lots import gathering, lots
from spc.store.record import audit
from spc.store.record.receipts import Receipt

# Two scales may differ by this share: common practice, no source.
SCALES: Final = 0.01


@dataclass(frozen=True, slots=True, kw_only=True)
class Made:
    """What was weighed in, and what came out.

    Attributes
    ----------
    lot
        The number of the new lot.
    weighed
        Kilograms by lot, one for every lot on the sheet; 0 for one that was left out.
    packages, package_kg
        How it was packed; None where that is not known, and then it must be counted before it
        can be used.
    predicted
        What was to be expected of the kilograms as weighed; empty where the sheet's prediction
        stands.
    made_on
        Day of making; None for today.
    """

    lot: str
    weighed: Mapping[str, float]
    packages: int | None = None
    package_kg: float | None = None
    predicted: tuple[Predicted, ...] = ()
    made_on: date | None = None

    @property
    def total_kg(self) -> float:
        """All that was weighed in."""
        return math.fsum(self.weighed.values())


def make(cursor: Cursor, blend: str, made: Made, signed: Signed) -> Receipt:
    """Record that a blend was made: stock is consumed and released, and a new lot stands.

    Returns
    -------
    Receipt
        Of the record of making, under which the new lot came into the store.

    Raises
    ------
    InvalidInput
        If it was not issued, the kilograms do not fit the sheet, more came out
        than was weighed in, or the number of the new lot is missing or taken.
    UnknownName
        If there is no such blend.

    Notes
    -----
    A lot that was barred after the issue does not stop the record: what was mixed was mixed, and
    must be found.  The new lot is then barred for what it holds.

    How the new lot stands in the store is said in `made_lot`.
    """
    planned = blends.in_turn(cursor, blend, "made")
    where = blends.place(planned)
    blends.refuse_missing(where, **{"number of the new lot": made.lot})
    known = catalogue.load(cursor)
    drafts.check_predicted(made.predicted, known, where=where)
    _refuse_weighing(made, planned)
    _refuse_taken(cursor, made.lot.strip(), {one.control for one in known.controls}, where=where)
    today = gathering.today_of(cursor)
    output = Output(
        lot=made.lot.strip(),
        weighed={lot: float(kg) for lot, kg in made.weighed.items() if kg > 0.0},
        packages=made.packages,
        package_kg=made.package_kg,
        made_at=_moment(cursor, made.made_on or today, today, where=where),
    )
    happened = blends.event(
        cursor,
        blend,
        "made",
        signed,
        lot=output.lot,
        predicted=drafts.predicted_text(made.predicted),
    )
    moves = [*blends.releases(cursor, planned), *_consumed(output, blend)]
    by, reason = happened["signed_by"], f"made {output.lot}"
    moved = stock_moves.checked_rows(cursor, moves, by=by, reason=reason)
    return made_lot.receive(
        cursor, planned, output, {"blend_event": [happened], "stock_move": moved}, by=signed.by
    )


def _refuse_weighing(made: Made, planned: Blend) -> None:
    where, asked = blends.place(planned), set(planned.draft.lots)
    strange, missing = set(made.weighed) - asked, asked - set(made.weighed)
    if strange:
        raise InvalidInput(
            f"{', '.join(sorted(strange))} is not on sheet {planned.sheet}.",
            where=where,
            remedy="Weigh what is on the sheet; cancel it and issue another to use other lots.",
        )
    if missing:
        raise InvalidInput(
            f"nothing is said of {', '.join(sorted(missing))}.",
            where=where,
            remedy="Give the kilograms of every lot on the sheet, 0 for one that was left out.",
        )
    for lot, kg in made.weighed.items():
        if kg != 0.0:
            stock_moves.refuse_amount(kg, lot=lot)
    if made.total_kg <= 0.0:
        raise InvalidInput(
            "nothing was weighed in.", where=where, remedy="Cancel the blend if it was not made."
        )
    _refuse_gain(made, where=where)


def _refuse_gain(made: Made, *, where: str) -> None:
    """Nothing comes out that did not go in."""
    if made.packages is None or made.package_kg is None:
        return
    stock_moves.counted(made.lot, bags=made.packages, bag_kg=made.package_kg, opened_kg=0.0)
    packed = made.packages * made.package_kg
    if packed > made.total_kg * (1.0 + SCALES):
        raise InvalidInput(
            f"{made.packages} packages of {kilograms(made.package_kg)} are {kilograms(packed)},"
            f" but {kilograms(made.total_kg)} were weighed in.",
            where=where,
            remedy="Count the packages again, or correct what was weighed.",
        )


def _refuse_taken(cursor: Cursor, lot: str, controls: set[str], *, where: str) -> None:
    if lot in controls or lot in set(lots.names(cursor)):
        raise InvalidInput(
            f"the number {lot} is taken.",
            where=where,
            remedy="Give the new lot a number of its own.",
        )


def _moment(cursor: Cursor, day: date, today: date, *, where: str) -> datetime:
    if day > today:
        raise InvalidInput(
            f"it cannot have been made on {day.isoformat()}, which lies ahead.",
            where=where,
            remedy="Give the day on which it was made.",
        )
    # A store that stands still at its own day has no time of day.
    moment = audit.moment(cursor)
    return moment if day == moment.date() else datetime.combine(day, time())


def _consumed(output: Output, blend: str) -> list[Move]:
    return [
        Move(lot=lot, kind="consumed", kg=kg, blend=blend) for lot, kg in output.weighed.items()
    ]
