"""Trends: is this supplier's material still what it was?  For quality assurance."""
