"""What Intake shows, as frames; pure."""
