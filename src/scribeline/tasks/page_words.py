"""What an error says to whoever works at the command line, in the words of the pages.

Errors are written where they arise, and there is but one wording: it names commands and options where those are what to
do. On a page the same thing is done on a page, so a command becomes the page that does it, an option its plain name.
"""

import re

_PAGES = {
    "notebook list": "the first page", "notebook show": "the page Learn",
    "notebook attach": "the page of its photos and files", "notebook keep": "the page Measure",
    "new": "the page Measure",
    "check": "the page Measure", "schema": "the help page on records", "card": "the page Work out",
    "curve": "the page Plan", "trace": "the page Plan", "pipe": "the page Plan", "plan": "the page Plan",
    "stacks": "the page Plan", "who-limits": "the page Plan", "search": "the page Plan", "sheets": "the page Mark out",
    "rubbing": "the page Measure", "trial list": "the page Prove", "trial": "the page Prove",
    "ledger": "the page Learn",
}  # fmt: skip
_ANY = "|".join(sorted(_PAGES, key=len, reverse=True))
_ARGUMENTS = r"(?: (?:show|list|new|add|edit|set|undo)\b)?(?: '[^']*'| --[a-z-]+(?: \d+)?| [A-Z][A-Z]+(?:\.[a-z]+)?)*"
_COMMAND = re.compile(rf"`scribeline (?:{_ANY})\b[^`]*`|\bscribeline (?:{_ANY})\b{_ARGUMENTS}")
_NAMED = re.compile(rf"scribeline (?P<page>{_ANY})\b")
_WHOLE = (
    ("`scribeline notebook keep ENGINE.toml` begins one; or check the name given with --notebook",
     "begin a cylinder on the first page"),
    ("give --because '", "give a reason, such as '"),
    ("give --because;", "give a reason;"),
    ("give --author NAME", "type your name in the settings"),
    (", or name another notebook with --notebook", ""),
    (" with --notebook", " when scribeline was started"),
)  # fmt: skip
_OPTION = re.compile(r"(?<![\w-])--(?P<words>[a-z]+(?:-[a-z]+)*)")
_BUILD = re.compile(r"\b(?P<article>[Tt]he|[Aa]|[Nn]o|[Tt]his|[Tt]hat|[Aa]nother|[Ii]ts) build(?P<of>'s)?\b")


def on_page(words: str) -> str:
    """Words of an error as a page says them; others stay as they are.

    >>> on_page("what to do: `scribeline trial show` lists the pulls; or give --because 'rider shut the throttle'")
    "what to do: the page Prove lists the pulls; or give a reason, such as 'rider shut the throttle'"
    >>> on_page("The build 'kart' has no revision 4.")
    "The cylinder 'kart' has no revision 4."
    """
    if "scribeline " not in words and "--" not in words and "build" not in words:
        return words
    for found, instead in _WHOLE:
        words = words.replace(found, instead)
    words = _COMMAND.sub(_page, words)
    words = _OPTION.sub(lambda one: one["words"].replace("-", " "), words)
    return _BUILD.sub(r"\g<article> cylinder\g<of>", words)


def _page(command: re.Match[str]) -> str:
    named = _NAMED.search(command[0])
    assert named is not None
    return _PAGES[named["page"]]
