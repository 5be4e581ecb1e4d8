"""What a person asks, answered once: the store's facts and the core's sums, one value."""
