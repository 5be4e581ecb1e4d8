"""Intake: files of any laboratory to lots, results and held rows; it reads, the store keeps."""

from spc.intake.catalogue import Catalogue
from spc.intake.interpret import Batch, interpret
from spc.intake.methods import Control, MeasuringMethod
from spc.intake.profiles.profile import SourceProfile
from spc.intake.profiles.recognition import recognise
from spc.intake.readers import Table, read
from spc.intake.table.columns import Known

__all__ = [
    "Batch",
    "Catalogue",
    "Control",
    "Known",
    "MeasuringMethod",
    "SourceProfile",
    "Table",
    "interpret",
    "read",
    "recognise",
]
