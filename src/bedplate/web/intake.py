"""What a page sent, read strictly: small, text only, each field once."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping
from dataclasses import dataclass, field
from urllib.parse import quote, unquote

import msgspec
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import Response

from bedplate.errors import EntryError

NAME_COOKIE = "bedplate-name"
"""Keeps who measures, on this device."""


@dataclass(frozen=True, slots=True)
class Sent:
    """What a form or a program sent.

    :param fields: text by name
    :param files: (name, bytes) by name, those that are not empty
    :param lists: every value of a field that may come more than once
    """

    request: Request
    fields: Mapping[str, str] = field(default_factory=dict)
    files: Mapping[str, tuple[str, bytes]] = field(default_factory=dict)
    lists: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def __getitem__(self, name: str) -> str:
        """Return a field, '' if it was not sent."""
        return self.fields.get(name, "")

    @property
    def build(self) -> str:
        """Return the build in the address."""
        return str(self.request.path_params["build"])

    @property
    def by(self) -> str:
        """Return who says so: as typed, or as kept on this device."""
        return self["by"].strip() or who(self.request)


def who(request: Request) -> str:
    """Return the name kept on this device, '' if none."""
    return unquote(request.cookies.get(NAME_COOKIE, ""))[:120].strip()


def remember(response: Response, name: str) -> None:
    """Keep a name on this device for a year."""
    response.set_cookie(
        NAME_COOKIE, quote(name[:120]), max_age=31_536_000, samesite="strict", httponly=True
    )


def wants_json(request: Request) -> bool:
    """Tell whether a program asked, and not a person."""
    return "application/json" in request.headers.get("accept", "")


def deed(
    do: Callable[[Sent], Response],
) -> Callable[[Request], Awaitable[Response]]:
    """Return an endpoint that reads what was sent and then does it in a thread."""

    async def endpoint(request: Request) -> Response:
        kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
        sent = await (_json(request) if kind == "application/json" else _form(request))
        return await run_in_threadpool(do, sent)

    return endpoint


async def _json(request: Request) -> Sent:
    try:
        data = msgspec.json.decode(await request.body(), type=dict[str, str])
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError) as error:
        sentence = f"What was sent is not a JSON object of texts: {error}."
        raise EntryError(sentence) from error
    return Sent(request, data)


async def _form(request: Request) -> Sent:
    form = await request.form(max_files=4, max_fields=400, max_part_size=4 * 1024 * 1024)
    fields: dict[str, str] = {}
    files: dict[str, tuple[str, bytes]] = {}
    lists: dict[str, tuple[str, ...]] = {}
    for name, value in form.multi_items():
        if isinstance(value, UploadFile):
            data = await value.read()
            if data:
                files[name] = (value.filename or "", data)
        else:
            fields[name] = value
            lists[name] = (*lists.get(name, ()), value)
    await form.close()
    return Sent(request, fields, files, lists)
