"""Lots: may this lot be used, and on what evidence?  For quality assurance."""
