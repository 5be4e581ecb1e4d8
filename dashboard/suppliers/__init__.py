"""Suppliers: who is consistent, who can be believed, and what does it cost?  For purchasing."""
