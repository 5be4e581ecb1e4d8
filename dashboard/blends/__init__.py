"""Blends: what can be made today, at which odds and cost?  For product development.

An order becomes a recipe, a draft, a sheet and a lot; and what was predicted is held against what
was measured.
"""
