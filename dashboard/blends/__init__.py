"""Parts of the blends screen."""
