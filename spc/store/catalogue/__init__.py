"""What the store is told once: materials, methods and their versions, adopted corrections."""
