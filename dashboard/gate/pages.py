"""Small pages of the server's own, in the look of the house and without a script."""

import re
from collections.abc import Iterable
from html import escape
from http import HTTPStatus
from typing import Final

from starlette.responses import HTMLResponse

from dashboard.frame import theme
from dashboard.gate import words
from spc.errors import LotHeatError

_TYPED: Final = re.compile("`([^`]+)`")
_POLICY: Final = (
    "default-src 'none'; style-src 'unsafe-inline'; font-src 'self'; img-src data:;"
    " form-action 'self'; base-uri 'none'; frame-ancestors "
)


def page(
    title: str, body: str, *, status: HTTPStatus = HTTPStatus.OK, framed: bool = False
) -> HTMLResponse:
    """A page of one heading and what stands below it.

    Parameters
    ----------
    body
        HTML, every text of a person's escaped.
    framed
        Whether the server's other pages may show it inside themselves.
    """
    headers = {
        "Content-Security-Policy": _POLICY + ("'self'" if framed else "'none'"),
        "Cache-Control": "no-store",
    }
    kind = "framed" if framed else "whole"
    return HTMLResponse(_FRAME.format(title=escape(title), body=body, kind=kind), status, headers)


def paragraphs(sentences: Iterable[str]) -> str:
    """Sentences below each other; what is to be typed stands between backticks."""
    told = (_TYPED.sub(r"<code>\1</code>", escape(one)) for one in sentences)
    return "".join(f"<p>{one}</p>" for one in told)


def refusal(problem: LotHeatError, *, first: str = "") -> str:
    """What went wrong and what to do, as a boxed message; `first` is said before it."""
    # On the terminal a place stands before it, here it begins the sentence.
    what = problem.what[:1].upper() + problem.what[1:]
    told = " ".join(filter(None, (first, what, problem.remedy)))
    return f'<p class="wrong" role="alert">{escape(told)}</p>'


def button(address: str, label: str) -> str:
    """A button that sends nothing but itself."""
    return f'<form method="post" action="{escape(address)}"><button>{escape(label)}</button></form>'


def link(address: str, label: str) -> str:
    """A link that looks like a button."""
    return f'<p><a class="button" href="{escape(address)}">{escape(label)}</a></p>'


def sign_in_form(address: str, back: str, *, name: str = "") -> str:
    """Name and secret, and where to go then."""
    first, second = ("", " autofocus") if name else (" autofocus", "")
    return (
        f'<form method="post" action="{escape(address)}">'
        f'<input type="hidden" name="next" value="{escape(back)}">'
        f'<label>{escape(words.NAME_LABEL)}<input name="name" value="{escape(name)}"'
        f' autocomplete="username" autocapitalize="none" required{first}></label>'
        f'<label>{escape(words.SECRET_LABEL)}<input name="secret" type="password"'
        f' autocomplete="current-password" required{second}></label>'
        f"<button>{escape(words.SIGN_IN)}</button></form>"
    )


def secret_form(address: str) -> str:
    """A new secret, typed twice."""
    return (
        f'<form method="post" action="{escape(address)}">'
        f'<label>{escape(words.SECRET_LABEL)}<input name="secret" type="password"'
        ' autocomplete="new-password" required autofocus></label>'
        f'<label>{escape(words.AGAIN_LABEL)}<input name="again" type="password"'
        ' autocomplete="new-password" required></label>'
        f"<button>{escape(words.SIGN_IN)}</button></form>"
    )


def _colours(ground: theme.Ground, wrong: theme.Message) -> str:
    return (
        f"--paper:{ground.paper};--raised:{ground.raised};--ink:{ground.ink};"
        f"--quiet:{ground.quiet};--line:{ground.line};--accent:{ground.accent};--link:{ground.link};"
        f"--edge:{wrong.edge};--ground:{wrong.ground};--words:{wrong.words}"
    )


def _faces() -> str:
    return "".join(
        f"@font-face{{font-family:{theme.FONT};src:url(/app/static/{file}) format('woff2');"
        f"font-weight:100 900;unicode-range:{characters}}}"
        for file, characters in theme.FONT_FACES
    )


_STYLE: Final = (
    _faces()
    + f":root{{color-scheme:light dark;{_colours(theme.LIGHT, theme.MESSAGES['light']['red'])}}}"
    + "@media (prefers-color-scheme:dark)"
    + f"{{:root{{{_colours(theme.DARK, theme.MESSAGES['dark']['red'])}}}}}"
    + f"""
*{{box-sizing:border-box}}
body{{margin:0;padding:1.5rem 1rem;background:var(--paper);color:var(--ink);
  font:1rem/1.5 {theme.FONT},sans-serif;font-variant-numeric:tabular-nums lining-nums}}
main{{max-width:26rem;margin:0 auto}}
h1{{font-size:1.9rem;line-height:1.2;font-weight:600;margin:0 0 1rem}}
p{{margin:0 0 1rem;overflow-wrap:anywhere}}
label{{display:block;margin:0 0 .9rem}}
input{{display:block;width:100%;margin-top:.2rem;padding:.5rem .6rem;font:inherit;color:inherit;
  background:var(--raised);border:1px solid var(--line);border-radius:.3rem}}
button,.button{{display:inline-block;padding:.5rem 1rem;font:inherit;cursor:pointer;color:#fff;
  background:var(--accent);border:0;border-radius:.3rem;text-decoration:none}}
:focus-visible{{outline:2px solid var(--link);outline-offset:2px}}
.wrong{{padding:.6rem .8rem;color:var(--words);background:var(--ground);
  border-left:4px solid var(--edge);border-radius:.3rem}}
h2{{font-size:1rem;margin:1rem 0 .2rem}}
dl{{display:grid;grid-template-columns:minmax(5rem,max-content) 1fr;gap:.15rem .9rem;
  margin:0 0 1rem}}
dt{{color:var(--quiet)}}
dd{{margin:0;overflow-wrap:anywhere}}
ul{{margin:0 0 1rem;padding-left:1.1rem}}
summary{{cursor:pointer;color:var(--link)}}
details>p{{margin-top:.6rem}}
.framed{{padding:0 .15rem .5rem}}
.framed main{{max-width:none}}
.framed main>form{{position:sticky;bottom:0;padding:.6rem 0 .2rem;background:var(--paper)}}
.framed h1{{font-size:1.2rem;margin:0 0 .6rem}}
code{{padding:.05rem .3rem;background:var(--raised);border-radius:.2rem}}
"""
)

_FRAME: Final = (
    '<!doctype html><html lang="en"><head><meta charset="utf-8">'
    '<meta name="viewport" content="width=device-width, initial-scale=1">'
    '<link rel="icon" href="data:,"><title>{title} · lotheat</title>'
    f"<style>{_STYLE.replace('{', '{{').replace('}', '}}')}</style></head>"
    '<body class="{kind}"><main><h1>{title}</h1>{body}</main></body></html>'
)
