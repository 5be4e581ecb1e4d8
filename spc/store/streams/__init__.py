"""Streams of lots as they are charted: readings, baselines, signals and investigations."""
