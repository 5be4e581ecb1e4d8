"""Blocks of Methods as HTML."""

from html import escape
from urllib.parse import quote


def what_hangs_on(batch: str) -> str:
    """The way to what would change if a sensor batch were withdrawn."""
    address = f"/intake?withdraw=sensor%20batch&withdraw-sensor-batch={quote(batch)}"
    return (
        f'<ul class="lh-flags"><li><a target="_self" href="{address}">See what would change if the'
        f" results of {escape(batch)} were withdrawn</a></li></ul>"
    )
