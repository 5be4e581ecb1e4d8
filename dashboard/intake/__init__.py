"""Intake: what came in, and what waits for a person?  For whoever brings results.

Files, typed sheets and files of unknown sources come in; held rows are mended, checked again or
dismissed; what turned out wrong is withdrawn.
"""
