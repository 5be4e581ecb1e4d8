"""Blocks of Trends as HTML: what was found out about signals."""

import json
from collections.abc import Mapping
from html import escape
from typing import Any

import pandas as pd

from dashboard.frame.markup import bulleted, lot_link
from dashboard.frame.words import day


def investigations(frame: pd.DataFrame) -> str:
    """What was found out about signals, newest first."""
    items = [
        f"<li>{lot_link(row['lot'])} ({escape(', '.join(json.loads(row['signals'])))}):"
        f" {escape(row['cause'])}; {escape(row['action'])}. Opened by {escape(row['opened_by'])} on"
        f" {day(row['opened_at'])}{_ended(row)}</li>"
        for row in frame.to_dict("records")
    ]
    return bulleted(items)


def _ended(row: Mapping[Any, Any]) -> str:
    if not row["closed_by"]:
        return ", <b>open</b>."
    return (
        f", closed by {escape(row['closed_by'])} on {day(row['closed_at'])}:"
        f" {escape(row['conclusion'])}."
    )
