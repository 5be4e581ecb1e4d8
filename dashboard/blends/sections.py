"""The parts of the screen by name, one at a time."""

from typing import Final

from dashboard.blends import kept, outcomes, recipe, storeroom

SECTIONS: Final = {
    "recipe": recipe.section,
    "kept blends": kept.section,
    "stock": storeroom.section,
    "how they came out": outcomes.section,
}
