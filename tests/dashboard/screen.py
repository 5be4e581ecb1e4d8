"""A screen as the tests see it: opened without a browser, its words, and its fields by label."""

import contextlib
from pathlib import Path

from streamlit.testing.v1 import AppTest

import dashboard
from dashboard.frame import acting, session
from dashboard.gate import present
from dashboard.gate.cookie import Cookie
from dashboard.gate.entrance import Entrance
from dashboard.gate.signed_in import SignedIn
from spc.store.people.identity import system_user

APP = str(Path(dashboard.__file__).parent / "app.py")


# The computer's user, who looks at a store in which nobody has an account.
ME = SignedIn(person=f"os:{system_user()}", name=system_user(), way="machine")

# The screens by the name in their address.
SCREENS = {
    "lot": "lots/lot.py",
    **{
        path.parent.name: f"{path.parent.name}/screen.py"
        for path in Path(dashboard.__file__).parent.glob("*/screen.py")
    },
}


def signed_in(who):
    """Have every page of this process be a person's; nobody's for None."""
    cookie = Cookie(name="lotheat", secure=False)
    present.hold(Entrance(lookup=lambda _key: who, end=lambda _key: None, cookie=cookie, ways=()))


OWNER = SignedIn(person="os:ines", name="ines", way="machine")


def opened(screen, *, who=OWNER, key="", **query):
    """A screen by the name in its address, with what its address asks.

    Parameters
    ----------
    who, key
        Who looks at it, and the key of their session; the computer's user unless told otherwise.
    """
    signed_in(who)
    acting.hold(lambda: key)
    app = AppTest.from_file(APP, default_timeout=60)
    with _nothing_held():
        app.run()
    for name, value in query.items():
        app.query_params[name] = value
    return app.switch_page(SCREENS[screen]).run()


@contextlib.contextmanager
def _nothing_held():
    """No store to look at: a first run only makes the screens known, and need judge no lot."""
    held = session._HELD[:]
    session._HELD.clear()
    try:
        yield
    finally:
        session._HELD[:] = held


def words(app):
    """Everything that a screen says outside its tables and fields."""
    told = (app.title, app.markdown, app.caption, app.info, app.error, app.success, app.warning)
    said = [one.value for group in told for one in group]
    return " ".join([*said, *(one.proto.body for one in app.get("html"))])


def field(app, kind, label, form=""):
    """The one field, or button, of this label on the screen or in a form."""
    (found,) = [one for one in app.get(kind) if one.label == label and one.form_id.startswith(form)]
    return found
