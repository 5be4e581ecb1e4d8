"""Reports: pages to keep and to hand over, made from plain values."""

from dashboard.reports.collect import collect
from dashboard.reports.lot_record import lot_record
from dashboard.reports.record import Calculation, Charted, LotRecord
from dashboard.reports.supplier_card import MaterialCard, SupplierCard, collect_supplier
from dashboard.reports.supplier_pages import supplier_pages
from dashboard.reports.supplier_sheets import supplier_workbook

__all__ = [
    "Calculation",
    "Charted",
    "LotRecord",
    "MaterialCard",
    "SupplierCard",
    "collect",
    "collect_supplier",
    "lot_record",
    "supplier_pages",
    "supplier_workbook",
]
