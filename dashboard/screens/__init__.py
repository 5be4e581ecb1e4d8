"""One file a screen; each only composes."""
