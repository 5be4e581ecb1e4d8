"""The store: lots, results, receipts, decisions and their record in one DuckDB file."""

from spc.store.baselines import Choice
from spc.store.dispositions import Signature
from spc.store.face import Store
from spc.store.lots import Lot
from spc.store.receipts import Receipt
from spc.store.restoring import restore
from spc.store.streams import Stream, StreamKey
from spc.store.surveys import Survey
from spc.store.verification import Verification

__all__ = [
    "Choice",
    "Lot",
    "Receipt",
    "Signature",
    "Store",
    "Stream",
    "StreamKey",
    "Survey",
    "Verification",
    "restore",
]
