"""What Methods says, in words; pure."""
