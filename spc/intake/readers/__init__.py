"""Bytes of a file to a table of texts; nothing is interpreted here but the layout."""

from spc.intake.readers.kinds import is_workbook, kind_of
from spc.intake.readers.reading import read
from spc.intake.readers.table import SURPLUS, Table

__all__ = ["SURPLUS", "Table", "is_workbook", "kind_of", "read"]
