"""Trends: is this supplier's material still what it was?  For quality assurance.

One stream at a time: seen in several ways, beside others, against its specification; what signals
it gave, what was found out about them, and which lots say what is usual.
"""
