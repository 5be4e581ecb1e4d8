"""Suppliers, methods and laboratories against each other: whom and what to believe."""
