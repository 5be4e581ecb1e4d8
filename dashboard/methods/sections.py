"""The parts of the screen by name, one at a time."""

from typing import Final

from dashboard.methods import (
    against,
    control_samples,
    corrections_kept,
    laboratories,
    purchase,
    routine,
    stated_figures,
)

SECTIONS: Final = {
    "control samples": control_samples.section,
    "another method": against.section,
    "corrections": corrections_kept.section,
    "repeatability": routine.section,
    "laboratories": laboratories.section,
    "next euro": purchase.section,
    "stated figures": stated_figures.section,
}
