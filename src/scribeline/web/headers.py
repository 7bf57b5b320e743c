"""What every answer says to the browser about whom it may trust, and the nonce that lets the framework's scripts run.

The framework writes scripts into its page, so the policy names them by a nonce: a random word that is new with every
answer, stands in the page's own template and in the header, and that no text which a person typed can know. What else
it needs (`unsafe-eval`, `style-src 'unsafe-inline'`) was found by taking it away in Chromium and is told in the
decision on who may come in.
"""

import re
import secrets

from jinja2 import BaseLoader, Environment, TemplateNotFound

NONCE = "scribeline.nonce"  # key in the ASGI scope

_ALWAYS = (
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"same-origin"),  # "no-referrer" would make browsers send "Origin: null" with our own forms
    (b"x-frame-options", b"DENY"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (
        b"permissions-policy",
        b"accelerometer=(), camera=(), display-capture=(), geolocation=(), gyroscope=(), microphone=(), payment=(), "
        b"usb=()",
    ),
)

Headers = list[tuple[bytes, bytes]]


def new_nonce() -> str:
    """A word that nobody can foresee."""
    return secrets.token_urlsafe(18)


def page_policy(nonce: str, host: str) -> str:
    """The content security policy of the application's pages. `host` is the Host header, already found to be ours."""
    return "; ".join(
        [
            "default-src 'none'",
            f"script-src 'self' 'nonce-{nonce}' 'unsafe-eval'",  # the framework compiles its templates in the browser
            "style-src 'self' 'unsafe-inline'",  # and gives elements their style as an attribute
            "img-src 'self' data: blob:",
            "font-src 'self'",
            "media-src 'self' blob:",
            f"connect-src 'self' ws://{host}",  # some browsers do not take a socket of the same host for 'self'
            "worker-src 'self'",
            "manifest-src 'self'",
            "form-action 'self'",
            "base-uri 'none'",
            "object-src 'none'",
            "frame-ancestors 'none'",
        ]
    )


def plain_policy(nonce: str) -> str:
    """The policy of our own small pages, which have one style element and a form."""
    return f"default-src 'none'; style-src 'nonce-{nonce}'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"


def with_security(headers: Headers, policy: str) -> Headers:
    """The headers of an answer with ours among them; a stricter policy that the answer brought itself stays."""
    brought = {name.lower() for name, _ in headers}
    ours = [(name, value) for name, value in _ALWAYS if name not in brought]
    if b"content-security-policy" not in brought:
        ours.append((b"content-security-policy", policy.encode("latin-1", "replace")))
    if b"cache-control" not in brought:
        ours.append((b"cache-control", b"no-store"))
    return [*headers, *ours]


class _WithNonces(BaseLoader):
    """Another loader's templates, in which each script that stands in the template itself carries the nonce."""

    def __init__(self, loader: BaseLoader) -> None:
        self._loader = loader

    def get_source(self, environment: Environment, template: str):  # type: ignore[no-untyped-def]
        source, filename, uptodate = self._loader.get_source(environment, template)
        return scripts_with_nonce(source), filename, uptodate


def scripts_with_nonce(template: str) -> str:
    """The source of a page's template with a nonce in each script element.

    >>> scripts_with_nonce("<script defer src='x.js'></script>")
    '<script nonce="{{ request.scope[\\'scribeline.nonce\\'] }}" defer src=\\'x.js\\'></script>'
    """
    return re.sub(r"<script\b", f"<script nonce=\"{{{{ request.scope['{NONCE}'] }}}}\"", template)


def put_nonces_into_pages() -> None:
    """Have the framework's pages name their scripts by the nonce of the request. Doing it twice is doing it once."""
    from nicegui.client import templates

    loader = templates.env.loader
    if loader is None:
        raise TemplateNotFound("index.html")
    if type(loader).__name__ == _WithNonces.__name__:
        return
    templates.env.loader = _WithNonces(loader)
    if templates.env.cache is not None:
        templates.env.cache.clear()
