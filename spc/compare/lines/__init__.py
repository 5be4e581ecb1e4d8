"""Lines through readings: fitted, tested, read backwards, and watched over time."""
