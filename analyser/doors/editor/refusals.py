"""How a request that is not followed is answered: with why, to the person; and what goes wrong in one, never."""

from __future__ import annotations

import logging
from collections.abc import Awaitable, Callable
from functools import wraps
from typing import Any, TypeVar

from lsprotocol import types
from pygls.exceptions import JsonRpcException
from pygls.protocol import LanguageServerProtocol

log = logging.getLogger(__name__)
Server = TypeVar("Server")
Answer = TypeVar("Answer")
Handler = Callable[[Server, Any], Awaitable[Answer | None]]


class LeftAlone(Exception):
    """The text is too large to be read while it is written."""


class Refusal(JsonRpcException):
    """Why a request is not followed, for the person who asked."""

    CODE = types.LSPErrorCodes.RequestFailed.value


class Answering(LanguageServerProtocol):
    """The protocol, in which a request that can't be understood (a line before the first, say) is answered too."""

    def structure_message(self, data: dict[str, Any]) -> Any:
        try:
            return super().structure_message(data)
        except JsonRpcException as error:
            if "id" in data and "method" in data:
                self._send_response(data["id"], error=error.to_response_error())
            raise


def careful(
    handler: Callable[[Server, Any], Awaitable[Answer | None]],
) -> Callable[[Server, Any], Awaitable[Answer | None]]:
    """A handler that logs what goes wrong in it, and then has nothing to say."""

    @wraps(handler)
    async def answer(server: Server, params: Any) -> Answer | None:
        try:
            return await handler(server, params)
        except Refusal:
            raise
        except LeftAlone:
            return None
        except Exception:
            log.exception("answering %s", handler.__name__)
            return None

    return answer
