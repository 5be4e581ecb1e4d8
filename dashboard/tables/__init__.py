"""Results to tables and to plain values for programs; nothing is read or drawn here."""

from dashboard.tables.intake import (
    held_groups,
    held_kinds,
    held_table,
    preview_held,
    preview_table,
    receipts_seen,
)
from dashboard.tables.lots import audit_table, calculation_table, lots_table, results_table
from dashboard.tables.streams import (
    baselines_table,
    signals_in_words,
    stream_frame,
    stream_table,
    timeline_frames,
)
from dashboard.tables.told import (
    HELD_TOLD,
    receipts_table,
    receipts_told,
    review_told,
    signals_table,
    sweep_told,
)

__all__ = [
    "HELD_TOLD",
    "audit_table",
    "baselines_table",
    "calculation_table",
    "held_groups",
    "held_kinds",
    "held_table",
    "lots_table",
    "preview_held",
    "preview_table",
    "receipts_seen",
    "receipts_table",
    "receipts_told",
    "results_table",
    "review_told",
    "signals_in_words",
    "signals_table",
    "stream_frame",
    "stream_table",
    "sweep_told",
    "timeline_frames",
]
