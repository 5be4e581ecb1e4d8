"""What keeps a row from being stored: why it is held, what cannot be, what is known already."""
