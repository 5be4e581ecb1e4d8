"""Charts of Blends; pure."""
