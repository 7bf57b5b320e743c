"""The framework's page names its own scripts by the nonce, and no script that somebody slipped into the page."""

import re

from jinja2 import Environment

from scribeline.web.headers import NONCE, page_policy, plain_policy, put_nonces_into_pages, with_security


class Request:
    scope = {NONCE: "a-nonce"}  # noqa: RUF012


def test_each_script_of_the_page_itself_has_the_nonce_and_no_other() -> None:
    from nicegui.client import templates

    put_nonces_into_pages()
    put_nonces_into_pages()
    environment: Environment = templates.env
    page = environment.get_template("index.html").render(
        request=Request, translations={}, body_html="<script>evil()</script>", elements="<script>evil()</script>"
    )
    scripts = re.findall(r"<script\b[^>]*>", page)
    assert len(scripts) > 5
    assert scripts.count("<script>") == 2
    assert all('nonce="a-nonce"' in script for script in scripts if script != "<script>")


def test_nothing_from_elsewhere_and_no_inline_script_is_allowed() -> None:
    for policy in (page_policy("n", "127.0.0.1:1"), plain_policy("n")):
        sources = dict(part.split(" ", 1) for part in policy.split("; "))
        assert sources["default-src"] == "'none'"
        assert "'unsafe-inline'" not in sources.get("script-src", "")
        assert not re.search(r"https?:|\*", policy)
        assert sources["frame-ancestors"] == sources["base-uri"] == "'none'"


def test_a_policy_that_an_answer_brings_itself_stays() -> None:
    own = [(b"Content-Security-Policy", b"sandbox"), (b"cache-control", b"max-age=5")]
    headers = with_security(own, "default-src 'none'")
    assert headers[:2] == own
    assert sum(name.lower() in (b"content-security-policy", b"cache-control") for name, _ in headers) == 2
    assert (b"x-content-type-options", b"nosniff") in headers
