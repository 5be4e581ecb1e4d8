"""Suppliers: who is consistent, who can be believed, what does heat cost?  For purchasing.

The suppliers of one material side by side, and the scorecard of one to talk about with it.
"""
