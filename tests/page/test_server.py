"""The page served on this machine: what must be answered, and what must be refused."""

from __future__ import annotations

import http.client
import re
import socket
import threading
from urllib.parse import urlencode

import pytest

from whywire.cli.page.command import front
from whywire.cli.page.server import AT_ONCE, LOOPBACK, MOST_BODY, Handler, Server

HEAD = {"job": "Kiln", "edition": "2023"}


class Client:
    """One who asks the server."""

    def __init__(self, server: Server) -> None:
        self.server, self.port = server, server.server_port
        self.host = f"{LOOPBACK}:{self.port}"
        self.own = f"http://{self.host}"
        self.cookie = self.mark = ""

    def ask(self, method: str, path: str, body: str | None = None, **headers: str):
        connection = http.client.HTTPConnection(LOOPBACK, self.port, timeout=20)
        sent = {"Host": self.host, **{k.replace("_", "-"): v for k, v in headers.items()}}
        if body is not None:
            sent.setdefault("Content-Type", "application/x-www-form-urlencoded")
            sent.setdefault("Content-Length", str(len(body.encode())))
        connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
        for name, value in sent.items():
            if value:
                connection.putheader(name, value)
        connection.endheaders(body.encode() if body else None)
        answer = connection.getresponse()
        said = answer.read().decode()
        connection.close()
        return answer.status, said, answer.headers

    def step(self, **fields: str):
        sent = urlencode({"_mark": self.mark, **fields})
        return self.ask("POST", "/step", sent, Origin=self.own, Cookie=self.cookie)


@pytest.fixture
def fresh():
    server = Server(front(), lambda: "2026-01-05", None)
    thread = threading.Thread(
        target=server.serve_forever, kwargs={"poll_interval": 0.01}, daemon=True
    )
    thread.start()
    yield Client(server)
    server.shutdown()
    server.server_close()


@pytest.fixture
def client(fresh):
    word = fresh.server.word
    code, _, headers = fresh.ask("POST", "/open", urlencode({"word": word}), Origin=fresh.own)
    assert code == 303
    assert "HttpOnly" in headers["Set-Cookie"] and "SameSite=Strict" in headers["Set-Cookie"]
    fresh.cookie = headers["Set-Cookie"].partition(";")[0]
    code, said, _ = fresh.ask("GET", "/", Cookie=fresh.cookie)
    assert code == 200
    fresh.mark = re.search(r'name="_mark" value="(\w+)"', said)[1]
    return fresh


def test_only_this_machine_can_reach_it(fresh):
    assert fresh.server.server_address[0] == "127.0.0.1"


def test_who_did_not_open_it_is_refused(fresh):
    assert fresh.ask("GET", "/")[0] == 403
    assert fresh.ask("GET", "/", Cookie="survey=x")[0] == 403
    assert fresh.ask("POST", "/step", "_mark=x", Origin=fresh.own)[0] == 403


@pytest.mark.parametrize(
    "host", ["attacker.test", "attacker.test:80", "127.0.0.1", "localhost", ""]
)
def test_a_name_turned_to_this_address_is_refused(client, host):
    assert client.ask("GET", "/", Host=host, Cookie=client.cookie)[0] in (400, 421)
    assert client.ask("POST", "/step", "a=b", Host=host, Cookie=client.cookie)[0] in (400, 421)


def test_the_word_is_good_once_and_for_a_form_of_ours_only(fresh):
    word = urlencode({"word": fresh.server.word})
    assert fresh.ask("GET", f"/open?{word}")[0] == 200  # who previews an address uses nothing up
    for origin in ("http://attacker.test", "null", "", f"https://{fresh.host}"):
        assert fresh.ask("POST", "/open", word, Origin=origin)[0] == 403
    assert fresh.ask("POST", "/open", "word=wrong", Origin=fresh.own)[0] == 403
    assert fresh.ask("POST", "/open", word, Origin=fresh.own)[0] == 303
    assert fresh.ask("POST", "/open", word, Origin=fresh.own)[0] == 403
    assert fresh.ask("POST", "/open", "word=", Origin=fresh.own)[0] == 403  # no word is no word


def test_a_form_from_another_page_is_refused(client):
    mark = urlencode({"_mark": client.mark})
    ok = {"Origin": client.own, "Cookie": client.cookie}
    assert client.ask("POST", "/step", mark, **ok)[0] == 200
    assert client.ask("POST", "/step", "a=b", **ok)[0] == 403  # without the mark
    assert client.ask("POST", "/step", "_mark=" + "0" * 64, **ok)[0] == 403
    assert client.ask("POST", "/step", mark, **{**ok, "Origin": "http://attacker.test"})[0] == 403
    assert client.ask("POST", "/step", mark, **ok, Sec_Fetch_Site="cross-site")[0] == 403
    assert client.ask("POST", "/step", mark, Origin=client.own)[0] == 403  # without the cookie


@pytest.mark.parametrize(
    ("headers", "body"),
    [
        ({"Content_Length": "99999999"}, "x"),
        ({"Content_Length": "-1"}, "x"),
        ({"Content_Length": "1e3"}, "x"),
        ({"Content_Length": "٣"}, None),
        ({"Transfer_Encoding": "chunked"}, None),
        ({"Content_Type": "application/json"}, "{}"),
        ({}, "a" * (MOST_BODY + 1)),
    ],
)
def test_what_no_form_is_is_refused(client, headers, body):
    if "٣" in headers.values():
        headers = {"Content_Length": "3x"}
    got = client.ask("POST", "/step", body, Origin=client.own, Cookie=client.cookie, **headers)
    assert got[0] == 413


@pytest.mark.parametrize("body", ["&a=1" * 400, "&a=%ff"])
def test_what_cannot_be_read_is_refused(client, body):
    sent = f"_mark={client.mark}{body}"
    assert client.ask("POST", "/step", sent, Origin=client.own, Cookie=client.cookie)[0] == 400


@pytest.mark.parametrize(
    "path",
    [
        "/../../etc/passwd",
        "/%2e%2e/etc/passwd",
        "//etc/passwd",
        "/look.css/../server.py",
        "/server.py",
    ],
)
def test_no_file_is_opened_by_a_name_from_the_network(client, path):
    assert client.ask("GET", path, Cookie=client.cookie)[0] == 404
    sent = urlencode({"_mark": client.mark})
    assert client.ask("POST", path, sent, Origin=client.own, Cookie=client.cookie)[0] == 404


def test_what_is_sent_forbids_script_frames_and_keeping(client):
    code, said, headers = client.step(**HEAD)
    assert code == 200 and "What are you feeding?" in said and "<script" not in said
    policy = headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy and "script" not in policy and "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy and headers["Cache-Control"] == "no-store"
    assert client.ask("GET", "/look.css")[2]["Content-Type"].startswith("text/css")


def test_markup_comes_back_as_text(client):
    code, said, _ = client.step(**{**HEAD, "job": "<script>alert(1)</script>"})
    assert code == 200 and "<script" not in said and "&lt;script&gt;" in said


# ---- a form with a file in it --------------------------------------------------------------------

JOB = "job: Barn\nedition: 2023\ncircuits:\n  kiln: {load: {type: kiln, current: 48 A}}\n"


def in_parts(fields: dict[str, str], boundary: str = "b0und") -> str:
    head = 'Content-Disposition: form-data; name="{}"; filename="../../etc/passwd"'
    parts = [
        f"--{boundary}\r\n{head.format(name)}\r\n\r\n{said}\r\n" for name, said in fields.items()
    ]
    return "".join(parts) + f"--{boundary}--\r\n"


def sent(client: Client, body: str, boundary: str = "b0und"):
    kind = f"multipart/form-data; boundary={boundary}"
    return client.ask(
        "POST", "/step", body, Origin=client.own, Cookie=client.cookie, Content_Type=kind
    )


def test_a_job_is_opened_by_what_its_file_says_and_never_by_its_name(client):
    code, said, _ = sent(client, in_parts({"_mark": client.mark, "job file": JOB}))
    assert code == 200 and "Barn" in said and "48 A" in said and "root:" not in said
    for name in ("/etc/passwd", "kb/jobs/kiln.yaml", "file:///etc/passwd"):
        code, said, _ = sent(client, in_parts({"_mark": client.mark, "job file": name}))
        assert code == 200 and 'role="alert"' in said and "root:" not in said


def test_a_file_from_another_page_is_refused(client):
    body = in_parts({"_mark": client.mark, "job file": JOB})
    kind = {"Content_Type": "multipart/form-data; boundary=b0und"}
    ok = {"Origin": client.own, "Cookie": client.cookie}
    assert client.ask("POST", "/step", body, **kind, **ok)[0] == 200
    other = {**ok, "Origin": "http://attacker.test"}
    assert client.ask("POST", "/step", body, **kind, **other)[0] == 403
    assert client.ask("POST", "/step", body, **kind, Origin=client.own)[0] == 403
    assert sent(client, in_parts({"_mark": "0" * 64, "job file": JOB}))[0] == 403
    assert sent(client, in_parts({"job file": JOB}))[0] == 403


@pytest.mark.parametrize(
    ("body", "boundary"),
    [
        ("", "b0und"),
        ("--b0und\r\n", "b0und"),
        ("--b0und--\r\n", "b0und"),
        ("x--b0und\r\n\r\n\r\n--b0und--", "b0und"),
        ("--b0und\r\nContent-Type: text/plain\r\n\r\nx\r\n--b0und--", "b0und"),
        (in_parts({str(number): "x" for number in range(400)}), "b0und"),
        (in_parts({"_mark": "m"}), ""),
        (in_parts({"_mark": "m"}), "b" * 71),
        (in_parts({"_mark": "m"}).removesuffix("--b0und--\r\n"), "b0und"),
        ("--b0und\r\n" * 20_000, "b0und"),
    ],
)
def test_a_broken_form_with_a_file_is_refused(client, body, boundary):
    # without its end no part has a mark that is ours, and the last says that there is no mark
    assert sent(client, body, boundary)[0] in (400, 403)


def test_a_file_larger_than_a_survey_is_refused(client):
    body = in_parts({"_mark": client.mark, "job file": "x" * MOST_BODY})
    assert sent(client, body)[0] == 413


def test_a_slow_body_is_let_go_and_others_are_answered(client, monkeypatch):
    monkeypatch.setattr(Handler, "timeout", 0.5)
    slow = socket.create_connection((LOOPBACK, client.port))
    head = f"POST /step HTTP/1.1\r\nHost: {client.host}\r\nOrigin: {client.own}\r\n"
    head += f"Cookie: {client.cookie}\r\nContent-Length: 1000\r\n"
    slow.send((head + "Content-Type: application/x-www-form-urlencoded\r\n\r\n_mark=").encode())
    assert client.ask("GET", "/", Cookie=client.cookie)[0] == 200
    slow.settimeout(10)
    assert slow.recv(100) == b""  # let go, and not answered
    slow.close()


FIELDS = ("job", "place", "permit date", "edition", "a", "card", "choice", "entry", "do", "again")
MARKUP = "<script>alert(1)</script>\"'><img src=x onerror=alert(1)>"


@pytest.mark.parametrize(
    "name", [*FIELDS, "begun", "line", "prices", "job file", "circuit", "other"]
)
def test_markup_in_any_field_comes_back_as_text(client, name):
    told = {**HEAD, "a": "kind|Kiln", "do": "whynot rating of breaker", "other": "9 A"}
    for value in (
        MARKUP,
        f"kind|{MARKUP}",
        f"job: {MARKUP}",
        f"job: '{MARKUP[:40]}'\nedition: 2023",
    ):
        code, said, _ = client.step(**{**told, name: value})
        assert code == 200 and "<script" not in said and "<img" not in said


@pytest.mark.parametrize(
    "value", [MARKUP.replace("'", ""), "</script>", "{name}", "\x00", "\u202e"]
)
def test_markup_in_a_job_that_is_opened_is_text(client, value):
    text = JOB.replace("Barn", f"'{value}'").replace("  kiln:", f"  '{value}':")
    for more in ({}, {"circuit": value}, {"do": "file"}, {"do": "note"}):
        code, said, _ = client.step(**{"job file": text, **more})
        assert code == 200 and "<script" not in said and "<img" not in said


def test_a_stolen_address_opens_nothing_once_it_was_used(fresh):
    """Who reads the address over a shoulder, in a history or from a log comes too late."""
    word = urlencode({"word": fresh.server.word})
    assert fresh.ask("POST", "/open", word, Origin=fresh.own)[0] == 303
    code, said, headers = fresh.ask("GET", f"/open?{word}")
    assert code == 200 and "Set-Cookie" not in headers
    code, _, headers = fresh.ask("POST", "/open", word, Origin=fresh.own)
    assert code == 403 and "Set-Cookie" not in headers
    assert fresh.ask("GET", f"/?{word}")[0] == 403


def test_other_methods_are_not_known(client):
    assert client.ask("DELETE", "/", Cookie=client.cookie)[0] == 501


def test_silent_clients_hold_no_more_than_their_places(client):
    silent = [socket.create_connection((LOOPBACK, client.port)) for _ in range(AT_ONCE)]
    for one in silent:
        one.send(b"G")
    with pytest.raises((ConnectionError, http.client.HTTPException, socket.timeout, OSError)):
        for _ in range(50):
            client.ask("GET", "/", Cookie=client.cookie)
    for one in silent:
        one.close()
    for _ in range(200):
        try:
            assert client.ask("GET", "/", Cookie=client.cookie)[0] == 200
            return
        except (ConnectionError, http.client.HTTPException):
            continue
    pytest.fail("nobody is answered after the silent ones have gone")
