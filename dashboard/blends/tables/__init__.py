"""What Blends shows and saves, as frames; pure."""
