"""Blocks of signatures as HTML, for screens.  Every text of a person's is escaped."""

from html import escape

from dashboard.frame import signing_words
from dashboard.frame.lot_addresses import lot_address
from spc.store.people import Request


def waiting(one: Request) -> str:
    """A request that waits: what of, who signed it, when and why."""
    return (
        f'<div class="lh-pending"><b>{_subject(one)}</b>'
        f" {escape(signing_words.waiting(one))}<br>{escape(one.reason)}"
        f'<br><span class="lh-quiet">{signatures(one)}</span></div>'
    )


def signatures(one: Request) -> str:
    """Everybody who signed, a line each."""
    return "<br>".join(escape(signing_words.signature(signed)) for signed in one.signatures)


def _subject(one: Request) -> str:
    if "lot" not in one.deed.split():
        return escape(one.subject)
    return f'<a target="_self" href="{lot_address(one.subject)}">{escape(one.subject)}</a>'
