"""Blocks of Intake as HTML."""

from collections.abc import Sequence
from html import escape

from dashboard.frame.folder_board import Notice
from dashboard.frame.markup import bulleted, lot_link
from dashboard.intake.words import mending
from spc.store.files.withdrawals import Changed


def notices(told: Sequence[Notice]) -> str:
    """What is said of files in the watched folder; those that ask for a person first."""
    ordered = sorted(told, key=lambda one: (not one.asked, one.passes))
    return bulleted(f"<li><b>{escape(one.name)}</b> {escape(one.what)}</li>" for one in ordered)


def changed(lots: Sequence[Changed]) -> str:
    """Lots that would be judged otherwise: as it stands, and as it would be."""
    items = [
        f"<li>{lot_link(one.lot)} ({escape(one.decision or 'waiting')}):"
        f" {escape(mending.judged(one.before))}<br>→ {escape(mending.judged(one.after))}</li>"
        for one in lots
    ]
    return bulleted(items)
