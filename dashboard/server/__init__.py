"""The server: the process that holds the store, and every way in for files from elsewhere."""
