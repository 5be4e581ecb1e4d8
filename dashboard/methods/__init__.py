"""The parts of the Methods screen, each from the store to the screen."""
