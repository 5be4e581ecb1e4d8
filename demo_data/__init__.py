"""An invented sauce maker's raw files, their source profiles, and the generator that wrote them."""
