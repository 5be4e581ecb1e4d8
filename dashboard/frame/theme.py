"""The look: paper, ink, one accent for what can be done, and colours for what is true.

The typeface is Asap (Omnibus-Type, SIL Open Font License): a warm humanist sans whose figures are
all equally wide, in every weight, so that numbers stay in their columns when they turn bold.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

Mode = Literal["light", "dark"]

FONT: Final = "Asap"
_DARKEST_PAPER: Final = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """What lies under and around the content, as hexadecimal colours.

    Attributes
    ----------
    paper, raised, sidebar
        Backgrounds of the page, of fields and tables' heads, of the sidebar.
    ink, quiet
        Text, and text that may be passed over.
    line
        Borders.
    accent, link
        What can be done: filled controls, and words to follow.
    """

    paper: str
    raised: str
    sidebar: str
    ink: str
    quiet: str
    line: str
    accent: str
    link: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Hue:
    """One meaning, as its colour on light and on dark paper."""

    light: str
    dark: str

    @property
    def expression(self) -> str:
        """The colour as a Vega expression.

        It reads the paper the chart is drawn on, so one cached chart serves both themes.
        """
        return f"luminance(background) < {_DARKEST_PAPER} ? '{self.dark}' : '{self.light}'"

    def on(self, mode: Mode) -> str:
        """The colour on one paper."""
        return self.dark if mode == "dark" else self.light


@dataclass(frozen=True, slots=True, kw_only=True)
class Message:
    """Colours of a boxed message: its edge and icon, its ground, its words."""

    edge: str
    ground: str
    words: str


PAPER: Final = Hue(light="#FBF6EC", dark="#1C1815")
RAISED: Final = Hue(light="#F2EADB", dark="#292320")
SIDEBAR: Final = Hue(light="#F4EDDF", dark="#231E1A")
INK: Final = Hue(light="#2B2320", dark="#F1E8DA")
QUIET: Final = Hue(light="#6B5D53", dark="#B8A998")
LINE: Final = Hue(light="#DCCFB9", dark="#453C35")
ACCENT: Final = Hue(light="#7A2E5C", dark="#A9508A")
LINK: Final = Hue(light="#7A2E5C", dark="#E3A3CB")


def _ground(mode: Mode) -> Ground:
    return Ground(
        paper=PAPER.on(mode),
        raised=RAISED.on(mode),
        sidebar=SIDEBAR.on(mode),
        ink=INK.on(mode),
        quiet=QUIET.on(mode),
        line=LINE.on(mode),
        accent=ACCENT.on(mode),
        link=LINK.on(mode),
    )


LIGHT: Final = _ground("light")
DARK: Final = _ground("dark")
GROUNDS: Final[Mapping[Mode, Ground]] = MappingProxyType({"light": LIGHT, "dark": DARK})

# Okabe, M. and Ito, K., Color Universal Design, 2008: told apart with any kind of colour vision.
ORANGE: Final = "#E69F00"
SKY_BLUE: Final = "#56B4E9"
BLUISH_GREEN: Final = "#009E73"
YELLOW: Final = "#F0E442"
BLUE: Final = "#0072B2"
VERMILLION: Final = "#D55E00"
REDDISH_PURPLE: Final = "#CC79A7"

MEASURED: Final = Hue(light=BLUE, dark=SKY_BLUE)
ALLOWED: Final = Hue(light=VERMILLION, dark=VERMILLION)

CATEGORIES: Final[Mapping[Mode, tuple[str, ...]]] = MappingProxyType(
    {
        "light": (BLUE, VERMILLION, BLUISH_GREEN, REDDISH_PURPLE, ORANGE, SKY_BLUE),
        "dark": (SKY_BLUE, VERMILLION, BLUISH_GREEN, REDDISH_PURPLE, ORANGE, BLUE),
    }
)
# From faint to full, single-hued, so that more reads as more in black and white too.
RAMPS: Final[Mapping[Mode, tuple[str, ...]]] = MappingProxyType(
    {
        "light": (
            *("#E4EDF2", "#C9DEEA", "#A9CCE1", "#86B9D7", "#61A4CB"),
            *("#3C8FC0", "#1A7DB6", "#0068A3", "#005486", "#004069"),
        ),
        "dark": (
            *("#1F2A31", "#21384A", "#234660", "#265677", "#2A678E"),
            *("#3179A6", "#3D8DBF", "#4FA2D6", "#7ABEE9", "#ACDAF6"),
        ),
    }
)

MESSAGES: Final[Mapping[Mode, Mapping[str, Message]]] = MappingProxyType(
    {
        "light": {
            "red": Message(edge=VERMILLION, ground="#FBE6D6", words="#8A3B00"),
            "orange": Message(edge=ORANGE, ground="#FBEFD2", words="#7A4E00"),
            "yellow": Message(edge=YELLOW, ground="#F8F3C8", words="#665A00"),
            "blue": Message(edge=BLUE, ground="#DDECF5", words="#00507D"),
            "green": Message(edge=BLUISH_GREEN, ground="#DAF0E7", words="#005E44"),
            "violet": Message(edge=REDDISH_PURPLE, ground="#F6E5EE", words="#7A2E5C"),
            "gray": Message(edge=LIGHT.quiet, ground=LIGHT.raised, words="#5A4D44"),
        },
        "dark": {
            "red": Message(edge=VERMILLION, ground="#43240F", words="#F5A36B"),
            "orange": Message(edge=ORANGE, ground="#3E2E0C", words="#F0BC55"),
            "yellow": Message(edge=YELLOW, ground="#38350F", words=YELLOW),
            "blue": Message(edge=SKY_BLUE, ground="#16303F", words="#8CCBF0"),
            "green": Message(edge=BLUISH_GREEN, ground="#0F3429", words="#5CCFAB"),
            "violet": Message(edge=REDDISH_PURPLE, ground="#3D2433", words="#E3A3CB"),
            "gray": Message(edge=DARK.quiet, ground=DARK.raised, words="#C9BBAB"),
        },
    }
)

# One family from three files: the browser fetches the second and third only when a text needs
# them.  All declare the same weights: browsers join only files that do, and would take ordinary
# text from the fallback otherwise.
FONT_FACES: Final = (
    (
        "asap-latin.woff2",
        "U+0000-00FF, U+0131, U+0152-0153, U+02BB-02BC, U+02C6, U+02DA, U+02DC, U+0304, U+0308, "
        "U+0329, U+2000-206F, U+20AC, U+2122, U+2191, U+2193, U+2212, U+2215",
    ),
    (
        "asap-latin-ext.woff2",
        "U+0100-02BA, U+02BD-02C5, U+02C7-02CC, U+02CE-02D7, U+02DD-02FF, U+1E00-1E9F, "
        "U+1EF2-1EFF, U+20A0-20AB, U+20AD-20C0, U+2113",
    ),
    ("open-sans-math.woff2", "U+0391-03A9, U+03B1-03C9, U+221A, U+2248, U+2260, U+2264-2265"),
)


def streamlit_config() -> dict[str, object]:
    """Options for the server, both themes complete so that the system's dark mode is followed.

    Returns
    -------
    dict
        Option name to value, to be joined with the server's own options.
    """
    return {
        "server.enableStaticServing": True,
        "theme.font": f"{FONT}, sans-serif",
        "theme.headingFont": f"{FONT}, sans-serif",
        "theme.fontFaces": [_font_face(*face) for face in FONT_FACES],
        "theme.headingFontSizes": ["1.9rem", "1.45rem", "1.2rem", "1.05rem", "1rem", "1rem"],
        "theme.headingFontWeights": [600, 600, 600, 600, 600, 600],
        "theme.baseRadius": "0.3rem",
        "theme.showWidgetBorder": True,
        "theme.showSidebarBorder": True,
        **_theme_options("light"),
        **_theme_options("dark"),
    }


def altair_config(mode: Mode) -> dict[str, object]:
    """Vega-Lite configuration for figures drawn outside the browser, the same look as on screen.

    Parameters
    ----------
    mode
        Which paper to draw on; reports are light.

    Returns
    -------
    dict
        Value of the `config` key of a Vega-Lite specification.
    """
    ground = GROUNDS[mode]
    words = {"labelColor": ground.ink, "titleColor": ground.ink, "titleFontWeight": "normal"}
    return {
        "font": FONT,
        "background": ground.paper,
        "autosize": {"type": "fit", "contains": "padding"},
        "axis": {
            **words,
            "gridColor": ground.line,
            "domain": False,
            "ticks": False,
            "labelFontSize": 12,
            "titleFontSize": 12,
            "labelPadding": 8,
            "labelOverlap": True,
        },
        "legend": words,
        "title": {"color": ground.ink, "anchor": "start", "fontWeight": 600},
        "view": {"strokeWidth": 0},
        "range": {"category": list(CATEGORIES[mode]), "ramp": list(RAMPS[mode])},
    }


def _font_face(file: str, characters: str) -> dict[str, str]:
    return {
        "family": FONT,
        "url": f"app/static/{file}",
        "unicodeRange": characters,
        "weight": "100 900",
        "style": "normal",
    }


def _theme_options(mode: Mode) -> dict[str, object]:
    ground = GROUNDS[mode]
    options: dict[str, object] = {
        "primaryColor": ground.accent,
        "backgroundColor": ground.paper,
        "secondaryBackgroundColor": ground.raised,
        "textColor": ground.ink,
        "linkColor": ground.link,
        "borderColor": ground.line,
        "dataframeBorderColor": ground.line,
        "dataframeHeaderBackgroundColor": ground.raised,
        "dataframeHeaderTextColor": ground.ink,
        "codeTextColor": ground.ink,
        "codeBackgroundColor": ground.raised,
        "chartCategoricalColors": list(CATEGORIES[mode]),
        "chartSequentialColors": list(RAMPS[mode]),
        "sidebar.backgroundColor": ground.sidebar,
        "sidebar.secondaryBackgroundColor": ground.paper,
        "sidebar.textColor": ground.ink,
        "sidebar.borderColor": ground.line,
    }
    for name, message in MESSAGES[mode].items():
        options[f"{name}Color"] = message.edge
        options[f"{name}BackgroundColor"] = message.ground
        options[f"{name}TextColor"] = message.words
    return {f"theme.{mode}.{name}": value for name, value in options.items()}
