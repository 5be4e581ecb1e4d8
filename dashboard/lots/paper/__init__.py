"""The record of one lot as PDF; pure."""

from dashboard.lots.paper.record import lot_record

__all__ = ["lot_record"]
