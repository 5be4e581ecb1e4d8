"""The doors of the store: what is read in one state or written in one transaction."""
