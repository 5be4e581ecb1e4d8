"""Navigation: every screen by the job it is for.

The screens do not live in a folder named `pages`: the server would take such a folder beside this
script for its navigation, and a deep link opened first would run a screen without this one.
"""

from pathlib import Path

import streamlit as st

from dashboard.frame.escaping import marked
from dashboard.frame.words import CAUTIONS, HANDLING
from dashboard.gate import blocks, present
from spc.errors import LotHeatError

st.set_page_config(page_title="lotheat", layout="wide")
st.html(Path(__file__).parent / "static" / "lotheat.css")

person = present.present()
if person is None:
    st.session_state.clear()
    st.html(blocks.ended())
    st.stop()

administers = person.way == "machine" or "administrator" in person.roles

page = st.navigation(
    [
        st.Page("today/screen.py", title="Today", default=True),
        st.Page("lots/screen.py", title="Lots", url_path="lots"),
        st.Page("lots/lot.py", title="Lot", url_path="lot", visibility="hidden"),
        st.Page("trends/screen.py", title="Trends", url_path="trends"),
        st.Page("suppliers/screen.py", title="Suppliers", url_path="suppliers"),
        st.Page("blends/screen.py", title="Blends", url_path="blends"),
        st.Page("specifications/screen.py", title="Specifications", url_path="specifications"),
        st.Page("methods/screen.py", title="Methods", url_path="methods"),
        st.Page("intake/screen.py", title="Intake", url_path="intake"),
        st.Page(
            "people/screen.py",
            title="People",
            url_path="people",
            visibility="visible" if administers else "hidden",
        ),
    ],
    position="top",
)
try:
    page.run()
except LotHeatError as problem:
    st.error(marked(str(problem)))

st.html(blocks.signed_in(person))
st.caption(marked(f"{CAUTIONS} {HANDLING}"))
