"""How a browser is let in: by the key in the address that the terminal shows, or, from another device, by a code.

The key is for a browser on the computer itself, and the code for a phone. Each is random, works once, and a new one
takes its place. A code lives for minutes, only once somebody at the computer asked for it, and dies of wrong tries.
"""

import io
import secrets
import threading
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass

import segno

LIFE_S = 300.0  # judgement: time to fetch the phone from the jacket
TRIES_PER_DEVICE = 5  # and per life of a code: typing eight characters wrongly five times is not a slip any more
TRIES_PER_CODE = 20
CODE_LETTERS = "23456789ABCDEFGHJKMNPQRSTVWXYZ"  # without those taken for each other, and no U, which makes words
CODE_LENGTH = 8  # 30**8 = 6.6e11: twenty tries find one with a chance of 3e-11


class OpeningKey:
    """The key that lets a browser of this computer in, once; then the next is made and told.

    address : the start of the page's address, such as ``http://127.0.0.1:8321``
    tell : is given the address with each new key, to be shown where only the builder looks
    """

    def __init__(self, address: str, tell: Callable[[str], object] = lambda address: None) -> None:
        self.address = address
        self.tell = tell
        self._key = secrets.token_urlsafe(24)

    @property
    def url(self) -> str:
        """The address to open, with the key that works now."""
        return f"{self.address}/open?key={self._key}"

    def take(self, key: str) -> bool:
        """Whether it is the key; then it never is again."""
        if not secrets.compare_digest(key.encode("utf-8", "replace"), self._key.encode()):
            return False
        self._key = secrets.token_urlsafe(24)
        self.tell(self.url)
        return True


@dataclass(frozen=True)
class Code:
    """A pairing code as it is shown: the text to type, and the time at which it dies on the clock of `Pairing`."""

    text: str
    ends_at: float


class Pairing:
    """The pairing code of the moment, and who has tried it.

    clock : seconds that only grow
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._code: Code | None = None
        self._tries: deque[tuple[float, str]] = deque(maxlen=10_000)
        self._wrong = 0
        self._lock = threading.Lock()

    def begin(self) -> Code:
        """Make a code that works once within the next minutes; one made before works no more."""
        with self._lock:
            text = "".join(secrets.choice(CODE_LETTERS) for _ in range(CODE_LENGTH))
            self._code, self._wrong = Code(text, self._clock() + LIFE_S), 0
            return self._code

    def end(self) -> None:
        """Let no code work until `begin`."""
        with self._lock:
            self._code = None

    @property
    def current(self) -> Code | None:
        """The code that works now."""
        with self._lock:
            return self._living()

    @property
    def seconds_left(self) -> float:
        """How long the code still works, [s]."""
        code = self.current
        return 0.0 if code is None else max(0.0, code.ends_at - self._clock())

    def take(self, typed: str, device: str) -> str | None:
        """Try a code. None where it was right, and it is used up then; otherwise the sentence that says what to do.

        device : the network address that it comes from. Five wrong tries, and nothing more is taken from there for
        five minutes; they do not count against the code any further, so that nobody can use up other people's.
        """
        with self._lock:
            now = self._clock()
            while self._tries and self._tries[0][0] < now - LIFE_S:
                self._tries.popleft()
            if sum(who == device for _, who in self._tries) >= TRIES_PER_DEVICE:
                return "Too many wrong codes came from this device. Wait five minutes, then ask for a new code."
            code = self._living()
            said = "".join(typed.upper().split()).replace("-", "")
            if code is not None and secrets.compare_digest(said.encode("utf-8", "replace"), code.text.encode()):
                self._code = None
                return None
            self._tries.append((now, device))
            if code is None:
                return "No code is waiting. On the computer, open Settings and ask for a new one: each works once."
            self._wrong += 1
            if self._wrong >= TRIES_PER_CODE:
                self._code = None
                return "This code was tried too often and works no more. Ask for a new one on the computer."
            return "This is not the code that the computer shows. Type it again."

    def _living(self) -> Code | None:
        if self._code is not None and self._clock() >= self._code.ends_at:
            self._code = None
        return self._code


def spoken(code: str) -> str:
    """A code as it is shown, in two groups.

    >>> spoken("23456789")
    '2345 6789'
    """
    half = len(code) // 2
    return f"{code[:half]} {code[half:]}"


def pairing_url(address: str, code: str) -> str:
    """What the QR code holds: the pairing page with the code in its field. Nothing is paired before a person agrees."""
    return f"{address}/pair?code={code}"


def qr_svg(text: str) -> str:
    """A QR code as an SVG element without a script or a style in it; dark on light in either mode, as readers need."""
    made = io.BytesIO()
    segno.make(text, error="m").save(
        made, kind="svg", xmldecl=False, svgns=True, border=4, dark="#000", light="#fff", omitsize=True, svgclass="qr",
        lineclass=None, title="QR code for pairing: open it with the phone's camera",
    )  # fmt: skip
    return made.getvalue().decode()


def qr_terminal(text: str) -> str:
    """A QR code made of block characters, for a terminal."""
    made = io.StringIO()
    segno.make(text, error="m").terminal(made, border=2, compact=True)
    return made.getvalue()
