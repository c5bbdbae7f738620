"""A plain host for a folder of files, on loopback; and the day of the law of its page."""

from __future__ import annotations

import datetime
import mimetypes
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

DAY = datetime.date.today()  # a browser has no other

mimetypes.add_type("application/wasm", ".wasm")
mimetypes.add_type("text/javascript", ".mjs")
mimetypes.add_type("application/manifest+json", ".webmanifest")


def hosted(folder: Path) -> ThreadingHTTPServer:
    """Serve *folder*; no request leads out of it."""
    there = {file.name: file for file in folder.iterdir()}

    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"
        wbufsize = -1

        def do_GET(self) -> None:
            file = there.get(self.path.partition("?")[0].lstrip("/") or "index.html")
            if file is None:
                self.send_error(404)
                return
            data = file.read_bytes()
            self.send_response(200)
            kind = mimetypes.guess_type(file.name)[0] or "application/octet-stream"
            for name, value in (("Content-Type", kind), ("Content-Length", str(len(data)))):
                self.send_header(name, value)
            self.end_headers()
            self.wfile.write(data)

        def log_message(self, *args: object) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    return server
