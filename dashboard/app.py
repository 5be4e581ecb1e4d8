"""Navigation: every screen by the job it is for.

The screens do not live in a folder named `pages`: the server would take such a folder beside this
script for its navigation, and a deep link opened first would run a screen without this one.
"""

from pathlib import Path

import streamlit as st

from dashboard import markup, wording
from dashboard.gate import present
from dashboard.wording import sign_in
from spc.errors import LotHeatError

st.set_page_config(page_title="lotheat", layout="wide")
st.html(Path(__file__).parent / "static" / "lotheat.css")

person = present.present()
if person is None:
    st.session_state.clear()
    st.html(markup.ended())
    st.stop()

page = st.navigation(
    [
        st.Page("screens/today.py", title="Today", default=True),
        st.Page("screens/lots.py", title="Lots"),
        st.Page("screens/lot.py", title="Lot", url_path="lot", visibility="hidden"),
        st.Page("screens/trends.py", title="Trends"),
        st.Page("screens/suppliers.py", title="Suppliers"),
        st.Page("screens/blends.py", title="Blends"),
        st.Page("screens/specifications.py", title="Specifications"),
        st.Page("screens/methods.py", title="Methods"),
        st.Page("screens/intake.py", title="Intake"),
    ],
    position="top",
)
try:
    page.run()
except LotHeatError as problem:
    st.error(str(problem))

st.html(markup.signed_in(sign_in.who(person.name, person.way)))
st.caption(f"{wording.CAUTIONS} {wording.HANDLING}")
