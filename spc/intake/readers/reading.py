"""Bytes of a file to a table, by whatever kind of file it is."""

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Final

from spc.intake.profiles.profile import FileForm
from spc.intake.readers import delimited, json_text, kinds, limits, parquet, workbook
from spc.intake.readers.table import Table

_READERS: Final[Mapping[str, Callable[[bytes, FileForm], Table]]] = MappingProxyType(
    {
        "delimited": delimited.read,
        "workbook": workbook.read,
        "json": json_text.read,
        "json lines": json_text.read_lines,
        "parquet": parquet.read,
    }
)


def read(content: bytes, form: FileForm) -> Table:
    """Read a file by its layout.

    Parameters
    ----------
    content
        The bytes of the file, as they came.
    form
        The layout, from the profile of its source.

    Returns
    -------
    Table
        Every row below the header, every cell as text without blanks around it.

    Raises
    ------
    UnreadableFile
        If the bytes are empty, beyond the limits, or not what the layout says.
    """
    limits.refuse_size(content)
    kinds.refuse_no_table(content)
    return _READERS[form.kind](content, form)
