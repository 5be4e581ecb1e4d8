"""Methods against each other and against control samples, and what a correction adds to doubt."""
