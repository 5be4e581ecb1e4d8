"""Reports: pages to keep and to hand over, made from plain values."""

from dashboard.reports.collect import collect
from dashboard.reports.lot_record import lot_record
from dashboard.reports.record import Calculation, Charted, LotRecord

__all__ = ["Calculation", "Charted", "LotRecord", "collect", "lot_record"]
