"""Blocks of Today as HTML: what moved, what intake holds."""

from collections.abc import Sequence
from html import escape
from urllib.parse import quote

import pandas as pd

from dashboard.frame.markup import bulleted, lot_link
from dashboard.frame.upkeep import Told
from dashboard.frame.words import code, count
from dashboard.today import words
from spc.store.people import Request


def moved(signals: pd.DataFrame) -> str:
    """New signals, one line a stream: what is unusual at its newest such lot, and since when."""
    items = [_moved_row(group) for _, group in signals.groupby("stream", sort=False)]
    return bulleted(items)


def _moved_row(group: pd.DataFrame) -> str:
    newest, *earlier = list(dict.fromkeys(group["lot"]))
    first = group.iloc[0].to_dict()
    address = "&".join(
        f"{name}={quote(str(first[name]))}"
        for name in ("material", "supplier", "characteristic", "method", "basis")
        if first[name]
    )
    rules = ", ".join(group.loc[group["lot"] == newest, "rule"])
    also = f"; also at {', '.join(lot_link(lot) for lot in earlier)}" if earlier else ""
    return (
        f'<li><a target="_self" href="/trends?{address}">{escape(first["material"])} from'
        f" {escape(first['supplier'])}</a>: {escape(first['characteristic'])} by"
        f" {escape(first['method'])} at {lot_link(newest)}: {escape(rules)}{also}.</li>"
    )


def released(pairs: Sequence[tuple[Request, Request]]) -> str:
    """Lots that were released over somebody's hold, newest first."""
    items = [
        f"<li>{lot_link(hold.subject)}: {escape(words.released(hold, over))}</li>"
        for hold, over in pairs
    ]
    return bulleted(items)


def held(summary: pd.DataFrame) -> str:
    """Held rows by what is wrong with them."""
    items = [
        f"<li><b>{count(int(row['rows']), 'row')}</b>:"
        f" {escape(code(row['code']))}, {escape(row['where'])}</li>"
        for row in summary.to_dict("records")
    ]
    return bulleted(items)


def jobs(told: Sequence[Told]) -> str:
    """What the server does by itself: when, what became of it, and the last failure."""
    items = [
        f"<li><b>{escape(one.job.capitalize())}</b>, {escape(words.ran(one))}</li>" for one in told
    ]
    return bulleted(items)
