"""What was measured of a lot, what it says of each line, and what stands beside it."""
