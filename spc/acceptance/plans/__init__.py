"""Sampling plans and what they let through: by count, by spread, for bulk, in increments."""
