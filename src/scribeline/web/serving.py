"""`scribeline serve`: opens the notebook, starts the workers and the server, says when it is ready, ends cleanly."""

import signal
import socket
import webbrowser
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import uvicorn

from scribeline.errors import ServeError
from scribeline.tasks.notebook import Where, folder_beside, opened
from scribeline.web.app import make_app
from scribeline.web.desk import Hub
from scribeline.web.guard import Door, Guard
from scribeline.web.pairing import pairing_url, qr_terminal, spoken
from scribeline.web.sessions import Sessions
from scribeline.web.state import State
from scribeline.web.warm import begun_workers, settled
from scribeline.web.workers import Workers

PORT = 8477  # ours by choice; free on most machines
LOOPBACK = "127.0.0.1"


def serve(
    *, where: Where = None, port: int | None = None, lan: bool = False, open_page: bool = False,
    tell: Callable[[str], None] = print, workers: Workers | None = None,
) -> None:  # fmt: skip
    """Serve until interrupted. port : None takes the usual one, or any free one where that is taken.
    workers : begun before this was imported (web/warm.py)

    Raises ServeError where the port cannot be had, NotebookError where the notebook cannot be opened.
    """
    listening = _listen("0.0.0.0" if lan else LOOPBACK, port)
    with opened(where, create=True, tell=tell) as notebook:
        folder = folder_beside(notebook.address)
        door = Door(listening.getsockname()[1], Sessions(folder / "devices.json"), lan)
        door.key.tell = lambda url: tell(f"scribeline: for another browser on this computer, open {url}")
        state = State(notebook, folder, workers or begun_workers(), Hub(notebook), door=door)
        app = Guard(make_app(state), door)

        class Server(uvicorn.Server):
            @contextmanager
            def capture_signals(self) -> Iterator[None]:
                """Both signals end it in good order, and the notebook is closed; uvicorn's own raises them again."""
                before = {one: signal.signal(one, self.handle_exit) for one in (signal.SIGINT, signal.SIGTERM)}
                yield
                for one, handler in before.items():
                    signal.signal(one, handler)

            async def startup(self, sockets: list[socket.socket] | None = None) -> None:
                await super().startup(sockets)
                settled()
                url = door.key.url
                tell(f"scribeline: ready at {url}")
                if open_page:
                    webbrowser.open(url)
                if lan:
                    _tell_how_to_pair(door, tell)

        # Without proxy_headers: whoever asks must not be able to say from where.
        config = uvicorn.Config(
            app, log_level="warning", timeout_graceful_shutdown=3, server_header=False, proxy_headers=False
        )
        try:
            Server(config).run(sockets=[listening])
        finally:
            state.incoming.close()
    tell("scribeline: ended; everything is saved")


def _tell_how_to_pair(door: Door, tell: Callable[[str], None]) -> None:
    """A code for the first phone. Later ones get theirs in the settings."""
    urls = door.lan_urls()
    if not urls:
        tell("scribeline: this computer is in no local network, so no phone can find it; connect it, then start again")
        return
    code = door.pairing.begin().text
    tell(qr_terminal(pairing_url(urls[0], code)))
    tell(f"scribeline: to pair a phone on this network, point its camera here, or open {urls[0]}/pair and type")
    tell(f"    {spoken(code)}    (works once, for five minutes; the settings give another)")
    tell("scribeline: what goes over the network is not encrypted: do this in a network of your own only")


def _listen(host: str, port: int | None) -> socket.socket:
    """A bound socket; the usual port where none is named, else any that is free."""
    for one in (PORT, 0) if port is None else (port,):
        listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listening.bind((host, one))
        except OSError as error:
            listening.close()
            reason = error.strerror or str(error)
        else:
            listening.set_inheritable(False)
            return listening
    raise ServeError(
        f"Port {port} of {host} cannot be used: {reason}.\n    kept: nothing was started\n"
        "    what to do: is scribeline running already? Give another with --port, or none"
    )
