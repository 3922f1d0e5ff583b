"""The receiving service: puts handed-in sessions into an inbox. Starlette on uvicorn; a token; loopback by default."""

from __future__ import annotations

import hmac
import ssl
from collections.abc import Callable
from pathlib import Path
from typing import Any

from assistant.archive.inbox import MOST_BYTES, Inbox, manifest_from
from assistant.archive.sending import LOOPBACK
from assistant.errors import AssistantError, BadSession, BadSettings, ModelMissing

SHORTEST_TOKEN = 20
"""Letters: one that nobody guesses."""
_STATUS = {2: 422, 4: 503}


def application(inbox: Inbox, token: str) -> Any:
    """The service as an ASGI application.

    Args:
        inbox: where sessions arrive.
        token: that every request must carry as `Authorization: Bearer TOKEN`.

    Paths: `POST /v1/missing` and `POST /v1/commit` with a session's name and the SHA-256 of each of its files;
    `PUT /v1/files/SHA256` with the bytes of one. Answers are JSON; a refusal has `message` and `remedy`.
    """
    from starlette.applications import Starlette
    from starlette.concurrency import run_in_threadpool
    from starlette.requests import Request
    from starlette.responses import JSONResponse
    from starlette.routing import Route

    def guarded(work: Callable[[Request, bytes], dict[str, Any]]) -> Callable[[Request], Any]:
        async def endpoint(request: Request) -> JSONResponse:
            given = request.headers.get("authorization", "")
            if not hmac.compare_digest(given.encode(), f"Bearer {token}".encode()):
                return _refused(401, "the token is not the one of this service", "name its file with --token-file")
            body = bytearray()
            async for part in request.stream():
                body += part
                if len(body) > MOST_BYTES:
                    return _refused(413, f"more than {MOST_BYTES} bytes", "send session folders alone")
            try:
                return JSONResponse(await run_in_threadpool(work, request, bytes(body)))
            except AssistantError as error:
                return _refused(_STATUS.get(error.exit_status, 500), error.message, error.remedy)

        return endpoint

    def _refused(status: int, message: str, remedy: str) -> JSONResponse:
        return JSONResponse({"message": message, "remedy": remedy}, status_code=status)

    def missing(_request: Request, body: bytes) -> dict[str, Any]:
        return {"missing": inbox.missing(manifest_from(_json(body)))}

    def take(request: Request, body: bytes) -> dict[str, Any]:
        inbox.take(request.path_params["digest"], body)
        return {}

    def commit(_request: Request, body: bytes) -> dict[str, Any]:
        return {"acknowledged": inbox.commit(manifest_from(_json(body)))}

    return Starlette(
        routes=[
            Route("/v1/missing", guarded(missing), methods=["POST"]),
            Route("/v1/files/{digest}", guarded(take), methods=["PUT"]),
            Route("/v1/commit", guarded(commit), methods=["POST"]),
        ]
    )


def _json(body: bytes) -> Any:
    from assistant.journal.strict_json import NotStrictJson, strict_document

    try:
        return strict_document(body)
    except NotStrictJson as bad:
        raise BadSession(f"the request is no JSON: {bad}", remedy="send with `assistant archive send`") from None


def server(
    inbox: Inbox, *, token: str, host: str, port: int, certificate: Path | None = None, key: Path | None = None
) -> Any:
    """The service, ready to `run()`.

    Args:
        host, port: where it listens; port 0 takes a free one.
        certificate, key: files for HTTPS; needed for every host but this machine itself.

    Raises:
        BadSettings: the token is too short, another host without a certificate, or a certificate that cannot be used.
        ModelMissing: the service's packages are not installed.
    """
    if len(token) < SHORTEST_TOKEN:
        raise BadSettings(
            f"the token has {len(token)} letters", remedy=f"use at least {SHORTEST_TOKEN} that nobody can guess"
        )
    if host not in LOOPBACK and certificate is None:
        raise BadSettings(
            f"{host}: other machines are served by HTTPS only",
            remedy="name --certificate and --key, or leave --host out",
        )
    try:
        import starlette  # noqa: F401
        import uvicorn
    except ImportError:
        raise ModelMissing(
            "the receiving service needs Starlette and uvicorn, which are not installed",
            remedy="install the extra: .venv/bin/python -m pip install 'bolting-assistant[archive]'",
        ) from None
    if certificate is not None:
        try:
            ssl.create_default_context(ssl.Purpose.CLIENT_AUTH).load_cert_chain(certificate, key)
        except (OSError, ssl.SSLError) as error:
            raise BadSettings(f"{certificate}: {error}", remedy="a PEM certificate and its key") from None
    config = uvicorn.Config(
        application(inbox, token),
        host=host,
        port=port,
        ssl_certfile=certificate and str(certificate),
        ssl_keyfile=key and str(key),
        log_level="warning",
        lifespan="off",
        timeout_graceful_shutdown=3,
        server_header=False,
    )
    return uvicorn.Server(config)
