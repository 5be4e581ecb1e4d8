"""Stock and blends: what is there of each lot, what was planned, made, and measured of it."""
