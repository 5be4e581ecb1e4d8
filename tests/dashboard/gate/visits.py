"""Requests and websockets of browsers, programs and attackers, as the gate meets them."""

import contextlib
import http.client
import socket
import time
from dataclasses import dataclass, field

import websockets.sync.client
from streamlit.proto.BackMsg_pb2 import BackMsg
from streamlit.proto.ClientState_pb2 import ClientState
from streamlit.proto.ForwardMsg_pb2 import ForwardMsg
from websockets.typing import Origin, Subprotocol

from tests.forked import Forked

PATIENCE_S = 60
PAGE = {"Accept": "text/html"}


def free_port():
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@dataclass
class Answer:
    status: int
    headers: http.client.HTTPMessage
    body: bytes

    @property
    def cookie(self):
        """What a browser would send back."""
        return (self.headers.get("set-cookie") or "").split(";")[0]


@dataclass
class Visitor:
    """Someone at the port, with the cookie of a session or without one."""

    port: int
    cookie: str = ""
    host: str = ""

    def __post_init__(self):
        self.host = self.host or f"127.0.0.1:{self.port}"
        self.origin = f"http://{self.host}"

    def ask(self, method, path, body=None, **headers):
        """One request; an origin only where it is given."""
        told = {"Host": self.host, **({"Cookie": self.cookie} if self.cookie else {})}
        told |= {name.replace("_", "-"): value for name, value in headers.items()}
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=PATIENCE_S)
        with contextlib.closing(connection):
            connection.request(method, path, body=body, headers=told)
            answer = connection.getresponse()
            return Answer(answer.status, answer.headers, answer.read())

    def get(self, path, **headers):
        return self.ask("GET", path, **headers)

    def post(self, path, body="", **headers):
        """A form sent by this server's own page."""
        kind = "application/x-www-form-urlencoded"
        return self.ask(
            "POST", path, body, **({"Origin": self.origin, "Content_Type": kind} | headers)
        )

    @contextlib.contextmanager
    def page(self, *, origin="own", session="", **headers):
        """An open page, by its websocket."""
        told = {**({"Cookie": self.cookie} if self.cookie else {})}
        told |= {name.replace("_", "-"): value for name, value in headers.items()}
        with websockets.sync.client.connect(
            f"ws://{self.host}/_stcore/stream",
            address=("127.0.0.1", self.port),
            origin=Origin(self.origin) if origin == "own" else origin,
            subprotocols=[Subprotocol(one) for one in ("streamlit", "none", session) if one],
            additional_headers=told,
            proxy=None,
            max_size=None,
        ) as opened:
            yield Page(opened)

    def refused(self, **asked):
        """The status with which a websocket is turned away."""
        try:
            with self.page(**asked):
                return 101
        except websockets.exceptions.InvalidStatus as problem:
            return problem.response.status_code


@dataclass
class Page:
    """A page, its number, and what it said last."""

    socket: websockets.sync.client.ClientConnection
    number: str = ""
    texts: list[str] = field(default_factory=list)

    def look(self):
        """Look again; returns the words of the page."""
        self.socket.send(BackMsg(rerun_script=ClientState()).SerializeToString())
        self.texts = []
        while True:
            said = ForwardMsg()
            said.ParseFromString(self.socket.recv(timeout=PATIENCE_S))
            kind = said.WhichOneof("type")
            if kind == "new_session":
                self.number = said.new_session.initialize.session_id
            if kind == "delta" and said.delta.new_element.WhichOneof("type") == "text":
                self.texts.append(said.delta.new_element.text.body)
            if kind == "script_finished":
                return " ".join(self.texts)


@contextlib.contextmanager
def started(module, *words, port):
    """A process that serves until the test is over."""
    process = Forked(module, *words)
    try:
        for _ in range(900):
            assert process.poll() is None, process.stderr.read()
            with contextlib.suppress(OSError):
                if Visitor(port).get("/healthz").status == 200:
                    break
            time.sleep(0.1)
        yield process
    finally:
        process.stop()
