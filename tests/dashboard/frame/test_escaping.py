"""Hostile names of files and lots are shown as they stand, wherever they are shown."""

import io
from html import escape

import openpyxl  # type: ignore[import-untyped]
import pandas as pd
import pytest

from dashboard.command.terminal import print_table, say
from dashboard.frame.escaping import plain, seen
from dashboard.frame.exports import csv_bytes, xlsx_bytes
from dashboard.frame.markup import lot_link, pairs

HOSTILE = (
    "<script>alert(1)</script>",
    "![p](http://example.com/x.png)",
    "**bold** _low_ `code` $x^2$ ~~gone~~",
    "# heading",
    "- item",
    "1. item",
    ":red[danger] :material/home:",
    "=HYPERLINK(1)",
    "@sum",
    "\x1b[2J\x1b[31mred",
    "left\u202etfel",
    "one\ntwo",
    "[link](javascript:alert(1))",
)


@pytest.mark.parametrize("name", HOSTILE)
def test_markdown_takes_no_sign_of_a_name_for_its_own(name):
    shown = plain(name)

    for sign in "`*[]<~$":
        assert shown.count(sign) == shown.count(f"\\{sign}")
    assert "\n" not in shown
    assert "\x1b" not in shown
    assert not shown.lstrip().startswith(("#", "- ", "1. "))


def test_a_plain_sentence_stays_as_it_is():
    told = "2026-11_report.xlsx: 3 rows = 2 stored + 1 held (10 %)."

    assert plain(told) == told


@pytest.mark.parametrize("name", HOSTILE)
def test_a_terminal_obeys_no_sign_of_a_name(name, capsys):
    say(name)
    print_table(pd.DataFrame({"lot": [name]}))

    out = capsys.readouterr().out
    assert "\x1b[2J" not in out
    assert "\u202e" not in out
    assert seen(name).isprintable() or "\n" in name


@pytest.mark.parametrize("name", HOSTILE)
def test_a_page_holds_no_tag_of_a_name(name):
    shown = lot_link(name) + pairs([(name, name)])

    assert "<script" not in shown
    assert escape(name) in shown


@pytest.mark.parametrize("name", HOSTILE)
def test_no_cell_of_an_export_begins_a_formula(name):
    frame = pd.DataFrame({"lot": [name]})

    cell = csv_bytes(frame).decode("utf-8-sig").splitlines()[1].lstrip('"')
    book = openpyxl.load_workbook(io.BytesIO(xlsx_bytes({"lots": frame})))

    assert cell[:1] not in ("=", "+", "-", "@")
    assert book["lots"]["A2"].data_type == "s"
