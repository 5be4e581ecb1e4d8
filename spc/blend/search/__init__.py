"""The search for the best recipe, and the proof that no other is better by more than a gap."""
