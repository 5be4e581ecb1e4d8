"""Workbooks to plain cells, in a process of their own behind a wall of limits."""

from spc.workbooks.cells import Area, Cell, Sheet, Stretch
from spc.workbooks.wall import sheet, sheets

__all__ = ["Area", "Cell", "Sheet", "Stretch", "sheet", "sheets"]
