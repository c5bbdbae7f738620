"""The survey served on this machine, by the standard library, to nobody else.

A page in the same browser may try to reach it: by a name turned to this address, by a form sent
from elsewhere, by an address that was seen. So the host, the origin, a word that is given once, a
cookie and a mark in every form must all be right. It keeps no job, opens no file by a name from the
network, and its log is silent since addresses hold the word.
"""

from __future__ import annotations

import hmac
import re
import secrets
import socket
import threading
from collections.abc import Callable
from hashlib import sha256
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import parse_qsl, urlsplit

from ..wall import keep_report, report
from .front import Front
from .screen import Fields, page, text

LOOPBACK = "127.0.0.1"
MOST_BODY, MOST_FIELDS = 262_144, 300  # of a form, in bytes and fields
MOST_BOUNDARY = 70  # characters of what parts a form with a file in it
AT_ONCE, SILENT = 8, 15  # requests; seconds until one who says nothing is let go
COOKIE, MARK = "survey", "_mark"
POLICY = "; ".join(
    (
        "default-src 'none'",
        "style-src 'self'",
        "img-src 'self' data:",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    # not no-referrer: with it a browser sends "Origin: null" with a form
    "Referrer-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cache-Control": "no-store",
}
HTML, CSS = "text/html; charset=utf-8", "text/css; charset=utf-8"
FORM, PARTS = "application/x-www-form-urlencoded", "multipart/form-data"


class Server(ThreadingHTTPServer):
    """Serves *front* on loopback; *saved* keeps a job where the person said, and returns where."""

    daemon_threads = True
    request_queue_size = 16

    def __init__(
        self, front: Front, today: Callable[[], str], saved: Callable[[str, str], str] | None
    ) -> None:
        super().__init__((LOOPBACK, 0), Handler)
        self.front, self.today, self.saved = front, today, saved
        self.hosts = {f"{name}:{self.server_port}" for name in (LOOPBACK, "localhost")}
        self.word = secrets.token_urlsafe(16)  # good for the first who opens the page
        self.sessions: set[str] = set()
        self.key = secrets.token_bytes(32)
        self.lock = threading.Lock()  # the engine runs one job at a time
        self.places = threading.BoundedSemaphore(AT_ONCE)
        self.address = f"http://{LOOPBACK}:{self.server_port}/open?word={self.word}"

    def process_request(self, request: Any, client_address: Any) -> None:
        """Take a request, where there is a place for it."""
        if not self.places.acquire(blocking=False):
            self.shutdown_request(request)
            return
        super().process_request(request, client_address)

    def process_request_thread(self, request: Any, client_address: Any) -> None:
        """Answer a request, then give its place back."""
        try:
            super().process_request_thread(request, client_address)
        finally:
            self.places.release()

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A client that went away is no fault of ours; a defect is answered where it happens."""

    def mark(self, session: str) -> str:
        """What every form of a session carries."""
        return hmac.new(self.key, session.encode(), sha256).hexdigest()


class Refused(Exception):
    """A request that is not answered: the code and why."""

    def __init__(self, code: int, why: str) -> None:
        super().__init__(why)
        self.code, self.why = code, why


class Handler(BaseHTTPRequestHandler):
    """One request."""

    server: Server
    protocol_version = "HTTP/1.1"
    server_version, sys_version = "whywire", ""
    timeout = SILENT
    disable_nagle_algorithm = True  # else head and body go in two packets: 40 ms more
    wbufsize = -1  # and in one write

    def log_message(self, format: str, *args: Any) -> None:
        """Nothing: an address with the word in it is not for a log."""

    def do_GET(self) -> None:
        """The look, the page that opens, the first screen."""
        self._guarded(self._get)

    do_HEAD = do_GET

    def do_POST(self) -> None:
        """A form of ours, and of nobody else's page."""
        self._guarded(self._post)

    def _guarded(self, answered: Callable[[], None]) -> None:
        try:
            # a name of somebody else's that was turned to this address says itself here
            hosts = self.headers.get_all("Host") or []
            if len(hosts) != 1 or hosts[0] not in self.server.hosts:
                raise Refused(421, "This address is not served here.")
            answered()
        except Refused as refused:
            self._send(refused.code, page("No", f"<p>{text(refused.why)}</p>", STYLE))
        except (socket.timeout, ConnectionError):
            self.close_connection = True
        except Exception as defect:
            path = keep_report(report(defect, ["page"]))
            said = f"This is a defect of whywire. A report is in {path}." if path else "A defect."
            self._send(500, page("A defect", f"<p>{text(said)}</p>", STYLE))

    def _get(self) -> None:
        asked = urlsplit(self.path)
        if asked.path == "/look.css":
            return self._send(200, self.server.front.look, CSS)
        if asked.path == "/open":  # a form, since who previews an address would use the word up
            word = dict(parse_qsl(asked.query)).get("word", "")
            body = (
                '<h1>whywire</h1><form method="post" action="/open">'
                f'<input type="hidden" name="word" value="{text(word)}">'
                '<button class="go">Open the survey here</button></form>'
            )
            return self._send(200, page("whywire", body, STYLE))
        self._session()
        if asked.path != "/":
            raise Refused(404, "Nothing is here.")
        return self._send_screen([])

    def _post(self) -> None:
        origin, site = self.headers.get("Origin"), self.headers.get("Sec-Fetch-Site", "same-origin")
        if origin != f"http://{self.headers['Host']}" or site != "same-origin":
            raise Refused(403, "This form was not sent from here.")
        fields = self._fields()
        path = urlsplit(self.path).path
        if path == "/open":
            return self._open(dict(fields).get("word", ""))
        mark = dict(fields).get(MARK, "")
        if not hmac.compare_digest(mark.encode(), self.server.mark(self._session()).encode()):
            raise Refused(403, "Open the address that whywire printed.")
        if path != "/step":
            raise Refused(404, "Nothing is here.")
        return self._send_screen([(name, value) for name, value in fields if name != MARK])

    def _fields(self) -> list[tuple[str, str]]:
        length = self.headers.get("Content-Length", "")
        if (
            not (length.isascii() and length.isdigit() and len(length) < 9)
            or int(length) > MOST_BODY
            or self.headers.get("Transfer-Encoding")
            or self.headers.get_content_type() not in (FORM, PARTS)
        ):
            raise Refused(413, "That is more than a survey holds.")
        sent = self.rfile.read(int(length))
        try:
            if self.headers.get_content_type() == PARTS:
                return parts_of(sent, str(self.headers.get_param("boundary", "")))
            return parse_qsl(
                sent.decode("utf-8"),
                keep_blank_values=True,
                max_num_fields=MOST_FIELDS,
                errors="strict",
            )
        except ValueError:
            raise Refused(400, "That cannot be read.") from None

    def _open(self, word: str) -> None:
        with self.server.lock:
            ours = self.server.word
            if not ours or not hmac.compare_digest(word.encode(), ours.encode()):
                raise Refused(403, "This address was opened already. Start whywire page again.")
            self.server.word = ""
            session = secrets.token_urlsafe(24)
            self.server.sessions.add(session)
        cookie = f"{COOKIE}={session}; HttpOnly; SameSite=Strict; Path=/"
        self._send(303, "", more={"Location": "/", "Set-Cookie": cookie})

    def _session(self) -> str:
        for part in (self.headers.get("Cookie") or "").split(";"):
            name, _, value = part.strip().partition("=")
            known = self.server.sessions
            if name == COOKIE and any(
                hmac.compare_digest(value.encode(), one.encode()) for one in known
            ):
                return value
        raise Refused(403, "Open the address that whywire printed.")

    def _send_screen(self, fields: Fields) -> None:
        kept = [(MARK, self.server.mark(self._session()))]
        with self.server.lock:
            inside = self.server.front.inside(fields, self.server.today(), kept, self.server.saved)
        self._send(200, page("whywire", inside, STYLE))

    def _send(
        self, code: int, said: str, kind: str = HTML, more: dict[str, str] | None = None
    ) -> None:
        data = said.encode("utf-8")
        self.send_response(code)
        length = {"Content-Type": kind, "Content-Length": str(len(data))}
        for name, value in {**HEADERS, **length, **(more or {})}.items():
            self.send_header(name, value)
        if code >= 400:
            self.send_header("Connection", "close")
            self.close_connection = True
        self.end_headers()
        if self.command != "HEAD":
            self.wfile.write(data)
        self.wfile.flush()


def parts_of(sent: bytes, boundary: str) -> list[tuple[str, str]]:
    """The fields of a form with a file in it, each as text; what the file is called is not read.

    Raises:
        ValueError: it is no such form.

    >>> form = 'Content-Disposition: form-data; name="{}"; filename="x"'
    >>> body = "\\r\\n".join(["--b", form.format("job"), "", "Kiln", "--b--", ""])
    >>> parts_of(body.encode(), "b")
    [('job', 'Kiln')]
    """
    if not 0 < len(boundary) <= MOST_BOUNDARY:
        raise ValueError("no boundary")
    between = b"\r\n--" + boundary.encode("ascii")
    first, *parts = (b"\r\n" + sent).split(between, MOST_FIELDS + 1)
    if first or not parts or not parts.pop().startswith(b"--"):
        raise ValueError("not whole, or more than a survey holds")
    fields = []
    for part in parts:
        head, apart, body = part.partition(b"\r\n\r\n")
        named = re.search(r';\s*name="([^"\r\n]*)"', head.decode("utf-8"))
        if not apart or named is None:
            raise ValueError("a part without a name")
        fields.append((named[1], body.decode("utf-8-sig")))
    return fields


STYLE = '<link rel="stylesheet" href="/look.css">'
