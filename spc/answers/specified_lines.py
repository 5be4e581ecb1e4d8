"""Which line of a specification holds for what is looked at."""

from spc.acceptance import Line
from spc.intake import Catalogue


def line_on(catalogue: Catalogue, *, material: str, characteristic: str, basis: str) -> Line | None:
    """The newest specification's line on a characteristic, if it is on the basis looked at."""
    versions = [one for one in catalogue.specifications if one.material == material]
    newest = max(versions, key=lambda one: one.version, default=None)
    lines = newest.lines if newest else ()
    return next(
        (
            line
            for line in lines
            if line.characteristic == characteristic and line.basis in ("", basis)
        ),
        None,
    )
