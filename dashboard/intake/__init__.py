"""Intake: what came in, and what waits for a person?  For whoever brings results."""
