"""Source profiles: how the files of one laboratory or instrument are to be read."""
