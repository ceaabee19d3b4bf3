"""One page, served on this machine only."""

from __future__ import annotations

from collections.abc import Callable
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer


def serve_page(page: bytes, *, port: int, ready: Callable[[str], None]) -> None:
    """Serve one HTML page on 127.0.0.1 until interrupted; a taken port falls to a free one.

    Parameters
    ----------
    page : bytes
        The page, UTF-8.
    port : int
        The port to try first; 0 takes any.
    ready : callable
        Called once with the address, when it can be opened.
    """
    with _server(page, port) as server:
        ready(f"http://127.0.0.1:{server.server_port}/")
        try:
            server.serve_forever()
        except KeyboardInterrupt:
            return


def _server(page: bytes, port: int) -> ThreadingHTTPServer:
    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            assert isinstance(self.server, ThreadingHTTPServer)
            own = f"127.0.0.1:{self.server.server_port}"
            found = self.path.partition("?")[0] == "/" and self.headers.get("Host") in (
                own,
                own.replace("127.0.0.1", "localhost"),
            )
            self.send_response(200 if found else 404)
            self.send_header(
                "Content-Type", "text/html; charset=utf-8" if found else "text/plain; charset=utf-8"
            )
            body = page if found else b"nothing here; the debrief is at /\n"
            self.send_header("Content-Length", str(len(body)))
            self.send_header("X-Content-Type-Options", "nosniff")
            self.send_header("Referrer-Policy", "no-referrer")
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *args: object) -> None:
            return

    try:
        return ThreadingHTTPServer(("127.0.0.1", port), Handler)
    except OSError:
        return ThreadingHTTPServer(("127.0.0.1", 0), Handler)
