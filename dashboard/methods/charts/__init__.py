"""Charts of Methods; pure."""
