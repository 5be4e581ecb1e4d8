"""Passwords of other databases: from the environment or a file, never from the command line."""

import os
import stat
from pathlib import Path
from typing import Final

from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from dashboard.server.databases.refusals import refused

VARIABLE: Final = "LOTHEAT_QUERY_PASSWORD"
_SECRET: Final = frozenset(("password", "passwd", "pwd", "passphrase", "sslpassword", "secret"))


def address_of(text: str) -> URL:
    """An address without a password in it; what is refused is not repeated.

    Raises
    ------
    IntakeError
        If it is no address, or a password stands in it, which every process of the machine could
        read.
    """
    try:
        url = make_url(text)
    except (ArgumentError, ValueError):
        raise refused(
            "the database cannot be reached: its address cannot be read.",
            "Write it as postgresql://NAME@HOST/DATABASE, sqlite:///FILE or duckdb:///FILE,"
            " without a password.",
        ) from None
    if url.password is not None or _SECRET & {key.casefold() for key in url.query}:
        raise refused(
            "the address has a password in it, which whoever looks at this machine's processes"
            " can read.",
            f"Leave it out and put the password into the variable {VARIABLE}, or into a file for"
            " --password-file; and change the one that was typed.",
        )
    return url


def password(file: Path | None) -> str:
    """The password: of the file if there is one, else of the environment; empty for none.

    Raises
    ------
    IntakeError
        If the file cannot be read, or others than its owner can read it.
    """
    if file is None:
        return os.environ.get(VARIABLE, "")
    try:
        others = stat.S_IMODE(file.stat().st_mode) & 0o077
        text = file.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as problem:
        raise refused(
            f"the password file {file} cannot be read: {type(problem).__name__}.",
            "Check the path after --password-file and its rights.",
        ) from None
    if others:
        raise refused(
            f"others than its owner can read the password file {file}.", f"chmod 600 {file}"
        )
    return text.split("\n", 1)[0].rstrip("\r")
