"""The demonstration engines for tests of every room, whole or with their text changed."""

from functools import cache
from pathlib import Path

from scribeline.engine import EngineRecord, read_record
from scribeline.tasks.card import EngineCard, engine_card

FOLDER = Path(__file__).resolve().parent.parent / "examples"
KART, REED = "club-kart-98", "reed-125"
SOUND = (KART, REED)


def path_of(name: str) -> Path:
    return FOLDER / f"{name}.toml"


@cache
def text_of(name: str) -> str:
    return path_of(name).read_text(encoding="utf-8")


def edited(*changes: tuple[str, str], name: str = KART) -> EngineRecord:
    """A demonstration engine with pieces of its text replaced, wherever they stand; each must stand somewhere."""
    text = text_of(name)
    for old, new in changes:
        assert old in text, f"{name}.toml holds no {old!r}"
        text = text.replace(old, new)
    return read_record(text)


@cache
def card_of(name: str) -> EngineCard:
    """The card of a demonstration engine with its +/-, worked out once."""
    return engine_card(edited(name=name))
