"""Today: what waits for a decision, and what moved?  For whoever opens the store in the morning."""
