"""The command as it is typed, run in this process: what it prints, and how it ends.

A process of its own takes three seconds to load what this one has loaded long ago.  What is about
processes - a store that another one has open, who may read what is written - starts one.
"""

import io
import os
import sys
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from unittest import mock

from dashboard.command.lotheat import main


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """What a program finds when the command has ended."""

    returncode: int
    stdout: str
    stderr: str


def lotheat(*words: object) -> Done:
    """Run the command to its end, in a terminal of 200 columns."""
    out, err = io.StringIO(), io.StringIO()
    # What is written must be private by the command's own doing, not by the mask of whoever tests.
    mask = os.umask(0o022)
    try:
        with (
            mock.patch.object(sys, "argv", ["lotheat", *map(str, words)]),
            mock.patch.dict(os.environ, COLUMNS="200"),
            redirect_stdout(out),
            redirect_stderr(err),
        ):
            main()
    except SystemExit as ended:
        return Done(returncode=int(ended.code or 0), stdout=out.getvalue(), stderr=err.getvalue())
    finally:
        os.umask(mask)
    raise AssertionError("the command came back without an exit code")
