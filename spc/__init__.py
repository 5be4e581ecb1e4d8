"""What lotheat computes and remembers about raw-material lots."""
