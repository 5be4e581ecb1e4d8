"""What Methods shows and saves, as frames; pure."""
