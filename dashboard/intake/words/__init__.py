"""What Intake says, in words; pure."""
