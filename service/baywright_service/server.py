"""The service on a port: for good, or inside another program (port 0, a thread)."""

import threading
from dataclasses import dataclass
from typing import Any

from flask import Flask
from waitress import wasyncore
from waitress.server import create_server
from waitress.trigger import trigger

from .app import create_app
from .network import why_not_safe
from .registry import Registry
from .settings import Settings, SettingsError

#: Waitress answers in plain text over its own limits; keep them far above the application's.
LARGEST_BODY = 256 * 1024 * 1024
LARGEST_HEADERS = 256 * 1024


@dataclass
class RunningServer:
    """A service that listens; `close` ends it."""

    host: str
    port: int
    _app: Flask
    _server: Any
    _sockets: dict[int, Any]
    _thread: threading.Thread | None = None

    @property
    def url(self) -> str:
        """Where to reach it from this machine."""
        name = f"[{self.host}]" if ":" in self.host else self.host
        return f"http://{name}:{self.port}"

    def run(self) -> None:
        """Serve until interrupted."""
        self._resume()
        try:
            self._server.run()
        finally:
            self._close_parts()

    def start(self) -> None:
        """Serve in a thread of its own."""
        self._resume()
        self._thread = threading.Thread(target=self._server.run, daemon=True)
        self._thread.start()

    def close(self) -> None:
        """Stop listening and let go of the store; may be called twice."""
        self._server.task_dispatcher.shutdown(timeout=1)
        wakers: list[Any] = [each for each in self._sockets.values() if isinstance(each, trigger)]
        for waker in wakers[:1]:
            # In the loop's own thread: it must not wait on sockets closed behind its back.
            waker.pull_trigger(lambda: wasyncore.close_all(self._sockets, ignore_all=True))
        if self._thread:
            self._thread.join(5.0)
        self._close_parts()

    def _resume(self) -> None:
        """Go on with batches, unless this service is here for one command without workers."""
        parts = self._app.extensions["baywright"]
        if parts.settings.workers or parts.settings.cluster:
            parts.batches.resume()

    def _close_parts(self) -> None:
        self._app.extensions["baywright"].close()

    def __enter__(self) -> "RunningServer":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def listen(settings: Settings, registry: Registry | None = None) -> RunningServer:
    """A server bound to its address, not yet answering. Raises SettingsError."""
    reason = why_not_safe(settings)
    if reason:
        raise SettingsError(reason)
    app = create_app(settings, registry)
    sockets: dict[int, Any] = {}
    try:
        server: Any = create_server(
            app,
            map=sockets,
            host=settings.host,
            port=settings.port,
            threads=settings.threads + settings.stream_limit,  # a stream holds one
            ident=None,
            max_request_body_size=LARGEST_BODY,
            max_request_header_size=LARGEST_HEADERS,
            clear_untrusted_proxy_headers=True,
        )
    except (OSError, ValueError) as error:
        place = f"{settings.host}:{settings.port}"
        raise SettingsError(f"The service cannot listen on {place}: {error}.") from error
    host, port = _address(server)
    return RunningServer(host, port, app, server, sockets)


def start(settings: Settings, registry: Registry | None = None) -> RunningServer:
    """A service in a thread of its own, answering when this returns. Raises SettingsError."""
    server = listen(settings, registry)
    server.start()
    return server


def serve(settings: Settings, registry: Registry | None = None) -> None:
    """Serve until interrupted. Raises SettingsError."""
    server = listen(settings, registry)
    print(f"Baywright listens on {server.url} (Ctrl+C ends it)", flush=True)
    server.run()


def _address(server: Any) -> tuple[str, int]:
    """Where it listens; a name with several addresses gives several, the first counts."""
    if hasattr(server, "effective_port"):
        return str(server.effective_host), int(server.effective_port)
    host, port = server.effective_listen[0]
    return str(host), int(port)
