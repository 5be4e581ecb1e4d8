"""`lotheat link`: a new link into the running server, for the computer's user."""

from dashboard.command.terminal import OUT, StoreOption, place
from dashboard.server import handover
from spc.errors import StoreError


def link(*, store: StoreOption = None) -> None:
    """Print a new link that signs you in to the running server, once."""
    path = place(store)
    server = handover.running(path)
    if server is None:
        raise StoreError(
            "no server shows this store.",
            where=str(path),
            remedy="Start one with `lotheat serve`; it prints a link.",
        )
    OUT.print(handover.fresh_link(server), soft_wrap=True)
