"""An invented sauce maker's raw files, their source profiles, and the generator that wrote them."""

from typing import Final

# The day of its newest files, at which the demo's store stands still.
DAY: Final = "2026-11-20"
