"""Which table stands where in a file: below another, on its side, with lines of a report."""
