"""People: who works with the store, and what may they do?  For administrators.

Everybody else finds their own entry and sessions here, and nothing of the others.
"""
