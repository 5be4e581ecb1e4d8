"""A profile proposed for a file that none fits, from its headers, its dates and the catalogue."""
