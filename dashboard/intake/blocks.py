"""Blocks of Intake as HTML."""

from collections.abc import Sequence
from html import escape

from dashboard.frame.markup import bulleted, lot_link
from dashboard.intake.words import mending
from spc.store.files.withdrawals import Changed


def changed(lots: Sequence[Changed]) -> str:
    """Lots that would be judged otherwise: as it stands, and as it would be."""
    items = [
        f"<li>{lot_link(one.lot)} ({escape(one.decision or 'waiting')}):"
        f" {escape(mending.judged(one.before))}<br>→ {escape(mending.judged(one.after))}</li>"
        for one in lots
    ]
    return bulleted(items)
