"""`CompareDesk`: what the store can tell of suppliers, certificates, methods and controls."""

import pandas as pd

from spc.store.catalogue import method_versions
from spc.store.desks.desk import Desk
from spc.store.lots import controls
from spc.store.lots.controls import ControlStream
from spc.store.methods import comparisons, studies
from spc.store.methods.comparisons import Comparable


class CompareDesk(Desk):
    """Gathers what is compared; the comparing is done by `spc.compare`."""

    def comparable(self, material: str, characteristic: str) -> Comparable:
        """Own results, certificates and prices of the lots of one material."""
        with self._read() as cursor:
            return comparisons.comparable(cursor, material, characteristic)

    def routine(self, characteristic: str, method: str, *, material: str = "") -> pd.DataFrame:
        """Every exact reading of lots by one method, with what it is nested in."""
        with self._read() as cursor:
            return studies.routine(
                cursor, characteristic=characteristic, method=method, material=material
            )

    def laboratories(self, characteristic: str, method: str) -> pd.DataFrame:
        """What several laboratories read of the same control samples by one method."""
        with self._read() as cursor:
            return studies.laboratories(cursor, characteristic=characteristic, method=method)

    def pairs(
        self, characteristic: str, method: str, *, against: str, material: str = ""
    ) -> pd.DataFrame:
        """Lots measured by two methods, as they were measured."""
        with self._read() as cursor:
            return studies.pairs(
                cursor,
                characteristic=characteristic,
                method=method,
                against=against,
                material=material,
            )

    def controls(self, method: str = "") -> list[ControlStream]:
        """Every control sample on every instrument, judged batch by batch."""
        with self._read() as cursor:
            return controls.streams(cursor, method=method)

    def method_versions(self, characteristic: str, method: str) -> pd.DataFrame:
        """Every version of how a method measures a characteristic, and who brought it when."""
        with self._read() as cursor:
            return method_versions.every(cursor, characteristic=characteristic, method=method)
