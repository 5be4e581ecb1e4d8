"""A supplier's certificates against own results: how far to believe them."""
