"""What the watched folder does not take in by itself is told and asked on the screen."""

import pytest
from streamlit.testing.v1 import AppTest

from dashboard.frame.folder_board import BOARD, Notice
from dashboard.intake.words import files
from tests.dashboard.screen import field, words

HALF = Notice(name="run.csv", what="It ends within a line.", asked=True)
FOLDER = Notice(name="march", what="It is a folder.")
WRITTEN = Notice(name="now.csv", what="It waits.", passes=True)


@pytest.fixture
def board(tmp_path):
    BOARD.begin(tmp_path)
    yield BOARD
    BOARD.end()


def part():
    # The function is run as a script of its own.
    from dashboard.frame import session  # noqa: PLC0415
    from dashboard.intake import watched_folder  # noqa: PLC0415

    session.show_message()
    watched_folder.section()


def test_nothing_is_said_where_no_folder_is_watched():
    app = AppTest.from_function(part).run()

    assert words(app).strip() == ""


def test_a_person_who_looked_says_which_files_are_whole(board):
    board.say([FOLDER, WRITTEN, HALF])

    app = AppTest.from_function(part, default_timeout=60).run()

    assert "1 file may be half a file, 1 file still being written and 1 not read" in words(app)
    assert app.dataframe[0].value["file"].tolist() == ["run.csv", "march", "now.csv"]
    field(app, "multiselect", "These files are whole as they are").select("run.csv")
    field(app, "button", "Take them in").click().run()
    assert "who looked at them" in words(app)
    assert board.answers() == {}
    field(app, "text_input", "Who looked at them").set_value("Mara Quill")
    field(app, "button", "Take them in").click().run()
    assert not app.exception
    assert "1 file called whole" in words(app)
    assert board.answers() == {"run.csv": "Mara Quill"}


def test_a_quiet_folder_says_so():
    assert "nothing waits in it" in files.watched("/in", [])
