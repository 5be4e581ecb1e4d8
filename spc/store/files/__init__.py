"""Taking in a file: sorted row by row, mended where it was held, and withdrawn if it was wrong."""
