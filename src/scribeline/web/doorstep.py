"""The few plain pages that somebody sees who was not let in: no script, no file of ours, nothing of the notebook."""

from html import escape

_STYLE = """
:root { color-scheme: light dark; --paper: #fbf9f4; --ink: #1e2a33; --line: #5a656e; --accent: #a8321e; }
@media (prefers-color-scheme: dark) { :root { --paper: #15191d; --ink: #e4ded1; --line: #a3abb0; --accent: #ff8f6b; } }
* { box-sizing: border-box; }
body { margin: 0; background: var(--paper); color: var(--ink);
  font: 1.125rem/1.5 Georgia, 'Liberation Serif', 'Noto Serif', serif; }
main { max-width: 34rem; margin: 8vh auto; padding: 1.5rem; border: solid var(--ink); border-width: 2px 0; }
h1 { font-size: 1.5rem; font-weight: 600; margin: 0 0 1rem; }
label { display: block; margin: 1.25rem 0 .25rem; font-weight: 600; }
input { width: 100%; min-height: 3.25rem; padding: 0 .75rem; border: 1px solid var(--line); border-radius: 0;
  background: transparent; color: inherit; font: inherit; }
input[name=code] { font: 1.5rem/1 ui-monospace, monospace; letter-spacing: .15em; text-transform: uppercase; }
button { width: 100%; min-height: 3.5rem; margin-top: 1.5rem; border: 2px solid var(--ink); border-radius: 0;
  background: var(--ink); color: var(--paper); font: inherit; font-weight: 600; }
:focus-visible { outline: 3px solid var(--accent); outline-offset: 2px; }
a { color: inherit; }
.told { border-left: 4px solid var(--accent); padding-left: .75rem; }
"""


def _page(nonce: str, title: str, body: str) -> bytes:
    return (
        f'<!doctype html><html lang="en"><head><meta charset="utf-8"><title>{escape(title)}</title>'
        '<meta name="viewport" content="width=device-width, initial-scale=1"><link rel="icon" href="data:,">'
        f'<style nonce="{escape(nonce)}">{_STYLE}</style></head><body><main><h1>{escape(title)}</h1>{body}</main>'
        "</body></html>"
    ).encode()


def pairing_page(nonce: str, code: str = "", name: str = "", told: str = "") -> bytes:
    """The one page that a device on the network sees before it is paired."""
    sentence = f'<p class="told" role="alert">{escape(told)}</p>' if told else ""
    return _page(
        nonce,
        "Pair this device",
        f"{sentence}<p>The computer on which scribeline runs shows a code. It works once, for five minutes.</p>"
        '<form method="post" action="/pair" autocomplete="off">'
        '<label for="code">Code on the computer</label>'
        f'<input id="code" name="code" value="{escape(code)}" maxlength="12" required autocapitalize="characters" '
        'spellcheck="false">'
        '<label for="name">A name for this device</label>'
        f'<input id="name" name="name" value="{escape(name)}" maxlength="40" placeholder="phone in the garage">'
        '<button type="submit">Pair</button></form>'
        '<p>Paired before? <a href="/">Open the notebook</a></p>',
    )


def not_let_in_page(nonce: str, told: str = "") -> bytes:
    """What a browser on the computer itself sees that has not opened the address from the terminal."""
    sentence = f'<p class="told" role="alert">{escape(told)}</p>' if told else ""
    return _page(
        nonce,
        "This browser is not let in yet",
        f"{sentence}<p>Other people and programs on this computer must not come at your notebook. So open the address "
        "that the window in which scribeline runs shows: it ends in a key and works once. After that, this browser is "
        'remembered.</p><p>Let in before? <a href="/">Open the notebook</a></p>',
    )


def refused_page(nonce: str, title: str, sentence: str) -> bytes:
    """A refusal on which nothing can be done in the browser."""
    return _page(nonce, title, f'<p class="told">{escape(sentence)}</p>')
