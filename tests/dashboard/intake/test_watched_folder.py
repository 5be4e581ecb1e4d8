"""What the watched folder does not take in by itself is told and asked on the screen."""

import pytest
from streamlit.testing.v1 import AppTest

from dashboard.frame import acting, session
from dashboard.frame.escaping import plain
from dashboard.frame.folder_board import BOARD, Notice
from dashboard.gate.signed_in import SignedIn
from dashboard.intake.words import files
from tests.dashboard.screen import OWNER, field, signed_in, words
from tests.staff import ME, MY_NAME, enter, secret_of

HALF = Notice(name="run.csv", what="It ends within a line.", asked=True)
FOLDER = Notice(name="march", what="It is a folder.")
WRITTEN = Notice(name="now.csv", what="It waits.", passes=True)


@pytest.fixture
def board(small_store, tmp_path):
    session.hold(small_store)
    looking(OWNER, "")
    BOARD.begin(tmp_path)
    yield BOARD
    BOARD.end()


def looking(who, key):
    """Who looks at the screen, and the key of their session."""
    signed_in(who)
    acting.hold(lambda: key)


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
    told = words(app)
    assert told.index("<b>run.csv") < told.index("<b>march") < told.index("<b>now.csv")
    assert HALF.what in told
    field(app, "button", "Take them in").click().run()
    assert "Name the files that are whole." in words(app)
    assert board.answers() == {}
    assert f"The receipt will say that {plain(MY_NAME)} brought them." in words(app)
    field(app, "multiselect", "These files are whole as they are").select("run.csv")
    field(app, "button", "Take them in").click().run()
    assert not app.exception
    assert "1 file called whole" in words(app)
    assert board.answers() == {"run.csv": ME}


def test_who_may_not_receive_files_is_not_asked_whether_one_is_whole(board, small_store):
    enter(small_store, "mara", "vera")
    key = small_store.people.sign_in("vera", secret=secret_of("vera"))
    looking(SignedIn(person="vera", name="Vera Holm", way="account"), key)
    board.say([HALF])

    app = AppTest.from_function(part, default_timeout=60).run()

    assert not app.exception
    assert "1 file may be half a file" in words(app)
    assert len(app.multiselect) == len(app.button) == 0


def test_a_quiet_folder_says_so():
    assert "nothing waits in it" in files.watched("/in", [])
