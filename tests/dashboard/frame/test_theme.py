"""What is drawn and written can be read: by contrast, by colour vision, by column."""

from pathlib import Path

import pytest
import streamlit.config
from PIL import ImageFont

import dashboard
from dashboard.frame import theme

STATIC = Path(dashboard.__file__).parent / "static"
WORDS, GRAPHICS = 4.5, 3.0  # WCAG 2.2, success criteria 1.4.3 and 1.4.11
MODES = ["light", "dark"]
SIGNS = "0123456789µ×−–±²°≤≥√≈σΔ\N{NARROW NO-BREAK SPACE}\N{THIN SPACE}éñçßŽő"


def luminance(colour):
    shares = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in shares]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one, other):
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def test_black_on_white_has_the_contrast_wcag_gives_it():
    assert contrast("#000000", "#FFFFFF") == pytest.approx(21.0)


@pytest.mark.parametrize("mode", MODES)
@pytest.mark.parametrize("under", ["paper", "raised", "sidebar"])
@pytest.mark.parametrize("words", ["ink", "quiet", "link"])
def test_every_text_can_be_read_on_every_ground(mode, under, words):
    ground = theme.GROUNDS[mode]

    assert contrast(getattr(ground, words), getattr(ground, under)) >= WORDS


@pytest.mark.parametrize("mode", MODES)
def test_what_can_be_done_stands_out_and_its_white_words_can_be_read(mode):
    ground = theme.GROUNDS[mode]

    assert contrast(ground.accent, ground.paper) >= GRAPHICS
    assert contrast("#FFFFFF", ground.accent) >= WORDS


@pytest.mark.parametrize("mode", MODES)
def test_the_accent_never_says_what_is_true(mode):
    ground = theme.GROUNDS[mode]

    assert ground.accent not in {
        *theme.CATEGORIES[mode],
        *(getattr(hue, mode) for hue in (theme.MEASURED, theme.ALLOWED)),
    }


@pytest.mark.parametrize("mode", MODES)
@pytest.mark.parametrize("hue", [theme.MEASURED, theme.ALLOWED, theme.INK, theme.QUIET])
def test_lots_and_limits_stand_out_from_the_paper(mode, hue):
    assert contrast(getattr(hue, mode), theme.GROUNDS[mode].paper) >= GRAPHICS


@pytest.mark.parametrize("mode", MODES)
def test_a_boxed_message_can_be_read(mode):
    for message in theme.MESSAGES[mode].values():
        assert contrast(message.words, message.ground) >= WORDS


@pytest.mark.parametrize("mode", MODES)
def test_more_is_further_from_the_paper(mode):
    paper = theme.GROUNDS[mode].paper

    steps = [contrast(step, paper) for step in theme.RAMPS[mode]]

    assert steps == sorted(steps)


def test_every_option_is_one_the_server_knows():
    known = streamlit.config.get_config_options()

    assert not set(theme.streamlit_config()) - set(known)


def test_both_themes_are_given_in_full_so_that_the_system_can_choose():
    options = theme.streamlit_config()
    light = {name.removeprefix("theme.light.") for name in options if ".light." in name}
    dark = {name.removeprefix("theme.dark.") for name in options if ".dark." in name}

    assert light == dark
    assert "theme.primaryColor" not in options


def test_every_font_file_is_shipped_with_its_licence():
    urls = [STATIC / file for file, _ in theme.FONT_FACES]

    assert all(url.is_file() for url in urls)
    assert "SIL Open Font License" in (STATIC / "Asap-OFL.txt").read_text()
    assert "SIL Open Font License" in (STATIC / "OpenSans-OFL.txt").read_text()


def test_all_files_of_the_family_claim_the_same_weights_or_browsers_keep_them_apart():
    faces = theme.streamlit_config()["theme.fontFaces"]

    assert isinstance(faces, list)
    assert {(face["family"], face["weight"]) for face in faces} == {(theme.FONT, "100 900")}


@pytest.mark.parametrize("weight", [400, 600, 700])
def test_figures_are_equally_wide_in_every_weight_on_screen(weight):
    font = ImageFont.truetype(STATIC / "asap-latin.woff2", 1000)
    font.set_variation_by_axes([weight])

    assert {font.getlength(digit) for digit in "0123456789"} == {535.0}


@pytest.mark.parametrize("file", ["Asap-Regular.ttf", "Asap-SemiBold.ttf"])
def test_figures_are_equally_wide_in_a_report(file):
    font = ImageFont.truetype(STATIC / file, 1000)

    assert str(font.getname()[0]).startswith(theme.FONT)
    assert {font.getlength(digit) for digit in "0123456789"} == {535.0}


@pytest.mark.parametrize("file", ["Asap-Regular.ttf", "Asap-SemiBold.ttf"])
def test_a_report_has_every_sign_the_trade_writes(file):
    font = ImageFont.truetype(STATIC / file, 40)
    missing = bytes(font.getmask("\N{PRIVATE USE ONE}"))

    assert [sign for sign in SIGNS if bytes(font.getmask(sign)) == missing] == []
