"""What Suppliers says, in words; pure."""
