"""What is said of specifications."""

from typing import Final

LAW: Final = (
    "Limits of law change and differ by country: each line carries its source and date; check"
    " current law before you rely on it."
)
NONE_WAITS: Final = "No version waits for an approval."
