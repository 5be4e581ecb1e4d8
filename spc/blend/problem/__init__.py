"""What is asked of a blend: the lots on offer, a window for each characteristic, and the rules."""
