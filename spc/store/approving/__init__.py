"""Specifications and corrections before they count: proposed, looked at, and approved."""
