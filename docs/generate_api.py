"""What docs/generate.py writes about the interface for programs: its OpenAPI document, and a page made of that."""

import json
from collections.abc import Iterator, Mapping
from typing import Any, cast

from scribeline.web import api


def openapi() -> dict[str, Any]:
    """The document that a server gives under /api/v1/openapi.json."""
    document = api.application(cast(Any, None)).openapi()
    return {**document, "servers": [{"url": "/api/v1"}]}


def openapi_json() -> str:
    """The same as the file that is kept with the docs."""
    return json.dumps(openapi(), indent=1, ensure_ascii=False) + "\n"


def api_page(note: str) -> Iterator[str]:
    """Every way, what it takes and gives."""
    document = openapi()
    yield note + "# The interface for programs\n"
    yield "Every way under `/api/v1`, made from [the OpenAPI document](openapi.json), which a running server gives at"
    yield "`/api/v1/openapi.json`. How to come in, a walk, and what a refusal says:"
    yield "[use the interface for programs](../howto/use-the-api.md). A word in braces stands for a name or a number.\n"
    ways = [(path, method, one) for path, some in document["paths"].items() for method, one in some.items()]
    for tag in dict.fromkeys(one["tags"][0] for _, _, one in ways):
        yield f"## {tag.capitalize()}\n"
        for path, method, one in ways:
            if one["tags"][0] == tag:
                yield from _way(path, method, one)
    yield "## What is sent, and what comes back\n"
    for name, schema in document["components"]["schemas"].items():
        yield from _shape(name, schema)


def _way(path: str, method: str, one: Mapping[str, Any]) -> Iterator[str]:
    yield f"### `{method.upper()} {path}`\n"
    yield f"{_one_line(one['description'])}\n"
    asked = [each for each in one.get("parameters", ()) if each["in"] == "query"]
    for each in asked:
        schema = each["schema"]
        words = schema.get("description") or each.get("description") or ""
        needed = ", needed" if each.get("required") else ""
        yield f"- `?{each['name']}` ({_kind(schema)}{needed}) {_one_line(words)}".rstrip()
    if asked:
        yield ""
    for media, body in one.get("requestBody", {}).get("content", {}).items():
        kind = _kind(body["schema"]) if "schema" in body else f"the file itself, as `{media}`"
        yield f"Sent: {kind}.\n"
    for status, answer in one["responses"].items():
        if status.startswith("2"):
            kinds = [
                _kind(body["schema"]) if body.get("schema") else f"`{media}`"
                for media, body in answer.get("content", {}).items()
            ]
            yield f"Comes back: {status}" + (f", {' or '.join(kinds)}" if kinds else "") + ".\n"


def _shape(name: str, schema: Mapping[str, Any]) -> Iterator[str]:
    yield f"### {name}\n"
    if "description" in schema:
        yield f"{_one_line(schema['description'])}\n"
    for field, about in schema.get("properties", {}).items():
        needed = ", needed" if field in schema.get("required", ()) else ""
        usual = f", else `{json.dumps(about['default'])}`" if about.get("default") not in (None, [], "") else ""
        yield f"- `{field}` ({_kind(about)}{needed}{usual}) {_one_line(about.get('description', ''))}".rstrip()
    yield ""


def _kind(schema: Mapping[str, Any]) -> str:
    if "$ref" in schema:
        name = schema["$ref"].rpartition("/")[2]
        return f"[{name}](#{name.lower()})"
    if "anyOf" in schema:
        return " or ".join(_kind(one) for one in schema["anyOf"] if one.get("type") != "null")
    if "enum" in schema:
        return ", ".join(f"`{one}`" for one in schema["enum"])
    if "const" in schema:
        return f"`{schema['const']}`"
    if schema.get("type") == "array":
        return f"list of {_kind(schema['items'])}" if schema.get("items") else "list"
    bounds = [f"at least {schema['minimum']:g}"] if "minimum" in schema else []
    bounds += [f"at most {schema['maximum']:g}"] if "maximum" in schema else []
    return " ".join([{"object": "table", None: "anything"}.get(schema.get("type"), str(schema.get("type"))), *bounds])


def _one_line(text: str) -> str:
    return " ".join(text.split())
