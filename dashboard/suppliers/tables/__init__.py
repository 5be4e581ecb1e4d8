"""What Suppliers shows and saves, as frames; pure."""
