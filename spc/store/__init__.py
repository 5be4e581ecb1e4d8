"""The store: lots, results, receipts, decisions and their record in one DuckDB file."""

from spc.store.lots.deciding import Disposed, Seen
from spc.store.lots.lots import Lot
from spc.store.record.anchors import Anchor, Comparison, Trust
from spc.store.record.receipts import Receipt
from spc.store.restoring import restore
from spc.store.store import Store
from spc.store.streams.baselines import Choice
from spc.store.streams.streams import Stream, StreamKey
from spc.store.streams.surveys import Survey
from spc.store.verification import Verification

__all__ = [
    "Anchor",
    "Choice",
    "Comparison",
    "Disposed",
    "Lot",
    "Receipt",
    "Seen",
    "Store",
    "Stream",
    "StreamKey",
    "Survey",
    "Trust",
    "Verification",
    "restore",
]
