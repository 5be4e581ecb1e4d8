"""Cells of a table to what they mean: numbers, moments, columns, and rows that are no results."""
