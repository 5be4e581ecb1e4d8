"""The desks of a store: doors of their own, for one face for everything would not fit a head."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from spc.store.approving import business, turning_down
from spc.store.blends import signing
from spc.store.desks.approval_desk import ApprovalDesk
from spc.store.desks.blend_desk import BlendDesk
from spc.store.desks.compare_desk import CompareDesk
from spc.store.desks.intake_desk import IntakeDesk
from spc.store.desks.known_desk import KnownDesk
from spc.store.desks.people_desk import PeopleDesk
from spc.store.desks.signing_desk import SigningDesk
from spc.store.files import correcting, withdrawing
from spc.store.lots import voiding
from spc.store.lots.deciding import Deciding
from spc.store.lots.release import DEEDS
from spc.store.people.business import Business

# What each deed does that can be signed by a request.
BUSINESS: Final[Mapping[str, Business]] = MappingProxyType(
    {
        **dict.fromkeys(DEEDS, Deciding()),
        **business.BUSINESS,
        **turning_down.BUSINESS,
        **signing.BUSINESS,
        **voiding.BUSINESS,
        **withdrawing.BUSINESS,
        **correcting.BUSINESS,
    }
)


class Desks(KnownDesk):
    """A store's desks, each on the same file."""

    @property
    def compare(self) -> CompareDesk:
        """Suppliers, certificates, methods and control samples."""
        return CompareDesk(self._connection)

    @property
    def blends(self) -> BlendDesk:
        """Stock, blends and their parentage."""
        return BlendDesk(self._connection)

    @property
    def intake(self) -> IntakeDesk:
        """Held rows to mend, and files and sensor batches to withdraw."""
        return IntakeDesk(self._connection)

    @property
    def people(self) -> PeopleDesk:
        """Who works with the store, how they sign in, and proofs of who acts."""
        return PeopleDesk(self._connection)

    @property
    def signing(self) -> SigningDesk:
        """What waits for a signature."""
        return SigningDesk(self._connection, business=BUSINESS)

    @property
    def approvals(self) -> ApprovalDesk:
        """Specifications and corrections: what waits, and its approval."""
        return ApprovalDesk(self._connection)
