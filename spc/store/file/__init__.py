"""The file itself: its connection, the steps of its schema, and files of other programs."""
