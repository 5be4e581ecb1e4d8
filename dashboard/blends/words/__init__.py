"""What Blends says, in words; pure."""
