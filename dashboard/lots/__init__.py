"""Lots: may this lot be used, and on what evidence?  For quality assurance.

`screen` finds a lot, `lot` is its dossier: the verdict line by line, the evidence and how to take
more of it, the decision, and the record for an auditor.
"""
