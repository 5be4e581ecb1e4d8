"""Charts of Trends; pure."""
