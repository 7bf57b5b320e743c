"""A real `scribeline serve` in a process of its own, and a real browser to look at it."""

import os
import random
import re
import select
import signal
import socket
import subprocess
import sys
import threading
import time
from dataclasses import dataclass, field
from pathlib import Path

from scribeline.notebook import resolve
from scribeline.tasks.notebook import folder_beside
from scribeline.web.sessions import Sessions

COMMAND = Path(sys.executable).with_name("scribeline")
READY_WITHIN_S = 180.0  # the first start on a machine may compile
PORTS = range(20_000, 32_000)  # below those that systems give to whoever asks for any, so a killed server's stays free
TOKENS: dict[int, str] = {}  # by port: a browser with this one was let in before, as by the address with the key


def free_port() -> int:
    """A port that nobody has. It is tried at random: other test runs on this machine look for theirs, too."""
    for port in random.SystemRandom().sample(PORTS, 100):
        with socket.socket() as trying:
            try:
                trying.bind(("0.0.0.0", port))
            except OSError:
                continue
            return port
    raise AssertionError("a hundred ports were tried, and all are taken")


@dataclass
class Served:
    """One server. `start` again after `kill` serves the same notebook on the same port."""

    notebook: Path
    arguments: tuple[str, ...] = ()
    url: str = ""
    opening_url: str = ""
    process: subprocess.Popen[str] | None = None
    said: list[str] = field(default_factory=list)
    _token: str = ""
    _listener: threading.Thread | None = None

    @property
    def port(self) -> int:
        return int(self.url.rstrip("/").rsplit(":", 1)[1].split("/")[0])

    def start(self) -> "Served":
        port = self.port if self.url else free_port()
        if not self._token:
            folder = folder_beside(resolve(self.notebook))
            _, self._token = Sessions(folder / "devices.json").admit("browser of the tests", "computer")
        environment = {**os.environ, "SCRIBELINE_NOTEBOOK": str(self.notebook), "PYTHONUNBUFFERED": "1"}
        environment.pop("NICEGUI_SCREEN_TEST_PORT", None)
        environment.pop("PYTEST_CURRENT_TEST", None)  # the server is not part of the test, and must not behave as if
        self.process = subprocess.Popen(
            [str(COMMAND), "serve", "--port", str(port), *self.arguments],
            env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, start_new_session=True,
        )  # fmt: skip
        assert self.process.stdout is not None
        until = time.monotonic() + READY_WITHIN_S
        while time.monotonic() < until:
            if not select.select([self.process.stdout], [], [], 1.0)[0]:
                continue
            line = self.process.stdout.readline()
            if not line and self.process.poll() is not None:
                break
            self.said.append(line)
            if ready := re.search(r"ready at (http://[^/\s]+/)(\S+)", line):
                self.url, self.opening_url = ready[1], ready[1] + ready[2]
                TOKENS[self.port] = self._token
                self._listener = threading.Thread(target=self._listen, daemon=True)
                self._listener.start()
                return self
        raise AssertionError("scribeline serve did not come up: " + "".join(self.said))

    def _listen(self) -> None:
        assert self.process is not None
        assert self.process.stdout is not None
        self.said.extend(self.process.stdout)

    def hear(self, pattern: str, within_s: float = 120.0) -> re.Match[str]:
        """What the server said, or will say soon, that matches."""
        until = time.monotonic() + within_s
        while time.monotonic() < until:
            if found := re.search(pattern, "".join(list(self.said))):
                return found
            time.sleep(0.05)
        raise AssertionError(f"the server did not say {pattern}: {''.join(self.said)}")

    def kill(self) -> None:
        """As a power cut would: the server and its workers, at once."""
        if self.process is not None:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
            self._put_away()

    def _put_away(self) -> None:
        assert self.process is not None
        assert self.process.stdout is not None
        if self._listener is not None:
            self._listener.join(10.0)
        self.process.stdout.close()
        self.process = None

    def stop(self) -> int:
        """As Ctrl-C would; the exit status."""
        assert self.process is not None
        self.process.send_signal(signal.SIGINT)
        try:
            status = self.process.wait(timeout=120)
        finally:
            self.kill_if_running()
        return status

    def kill_if_running(self) -> None:
        if self.process is not None and self.process.poll() is None:
            self.kill()
        elif self.process is not None:
            self._put_away()


def cookie(port: int) -> dict[str, str]:
    """What a browser holds that was let in by the server on this port."""
    return {"name": f"scribeline-{port}", "value": TOKENS[port], "url": f"http://127.0.0.1:{port}/"}
