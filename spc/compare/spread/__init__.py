"""Where the spread of readings comes from, and how to sample so that less of it is left."""
