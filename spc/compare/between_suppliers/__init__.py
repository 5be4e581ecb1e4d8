"""Suppliers of one material against each other: level, consistency, crops, and what heat costs."""
