"""A folder that is watched: what lies in it, what is whole, and what was put aside."""
