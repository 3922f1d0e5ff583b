"""Hands sealed sessions in: to a folder, or by HTTPS to a receiving service. Nothing is deleted or changed here."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, Protocol
from urllib.parse import urlsplit

from assistant.archive.inbox import Manifest, manifest_of
from assistant.errors import BadSession, BadSettings, ModelMissing, NotSent
from assistant.journal.disk import read_regular

LOOPBACK = ("127.0.0.1", "::1", "localhost")
TRIES, WAIT_S, PATIENCE_S = 5, 0.5, 60
"""Of one request: how often, the first wait between two (each is twice the one before), seconds without an answer."""


class Target(Protocol):
    """Where sessions are sent; `inbox.Inbox` is one."""

    def missing(self, manifest: Manifest) -> tuple[str, ...] | None:
        """Digests of the files still to be sent; None where exactly this session is already there."""
        ...

    def take(self, digest: str, data: bytes) -> None:
        """One file."""
        ...

    def commit(self, manifest: Manifest) -> str:
        """Assemble the session; the digest that the receiver acknowledges."""
        ...


def send(folder: Path, target: Target, told: Callable[[int, int], None] = lambda _at, _of: None) -> bool:
    """Hand one session in.

    Args:
        folder: of a sealed session.
        told: called after each file with how many were sent, of how many.

    Returns:
        True where something was sent; False where it was already there.

    Raises:
        BadSession: the receiver refuses it, or it changed while it was sent.
        NotSent: the receiver did not acknowledge; send again.
        RecordNotWritable: the target folder cannot be written.
    """
    manifest = manifest_of(folder)
    wanted = target.missing(manifest)
    if wanted is None:
        return False
    path_of = {digest: folder / name for name, digest in manifest.files.items()}
    for at, digest in enumerate(wanted, start=1):
        if digest not in path_of:
            raise NotSent(f"{folder.name}: the receiver asks for a file that is none of it", remedy="send again")
        target.take(digest, read_regular(path_of[digest]))
        told(at, len(wanted))
    acknowledged = target.commit(manifest)
    if acknowledged != manifest.digest:
        raise NotSent(f"{folder.name}: the receiver acknowledged something else", remedy="send again")
    return True


class Service:
    """A receiving service.

    Args:
        address: "https://HOST:PORT"; "http://" only on this machine.
        token: that the service asks for.
        certificate: file of the authority that signed the service's certificate; None takes the system's own.

    Raises:
        BadSettings: it is not an address, or would send unencrypted.
        ModelMissing: requests is not installed.
    """

    def __init__(self, address: str, *, token: str, certificate: Path | None = None) -> None:
        parts = urlsplit(address)
        if parts.scheme not in ("http", "https") or not parts.hostname:
            raise BadSettings(f"{address!r} is no address", remedy="write https://HOST:PORT")
        if parts.scheme == "http" and parts.hostname not in LOOPBACK:
            raise BadSettings(
                f"{address} would carry people's voices in the clear", remedy="use https:// to another machine"
            )
        self._address, self._requests = address.rstrip("/"), _client()
        self._session = self._requests.Session()
        self._session.trust_env = False  # no proxy of the environment, no password file
        self._session.headers["Authorization"] = f"Bearer {token}"
        self._session.verify = str(certificate) if certificate is not None else True
        retry = self._requests.adapters.Retry(
            total=TRIES, other=0, backoff_factor=WAIT_S, status_forcelist=(502, 503, 504), allowed_methods=None
        )
        self._session.mount(self._address, self._requests.adapters.HTTPAdapter(max_retries=retry))

    def close(self) -> None:
        """Close the connection."""
        self._session.close()

    def missing(self, manifest: Manifest) -> tuple[str, ...] | None:
        """As `Target.missing`."""
        found = self._call("POST", "missing", json=_document(manifest))["missing"]
        return None if found is None else tuple(map(str, found))

    def take(self, digest: str, data: bytes) -> None:
        """As `Target.take`."""
        self._call("PUT", f"files/{digest}", data=data)

    def commit(self, manifest: Manifest) -> str:
        """As `Target.commit`."""
        return str(self._call("POST", "commit", json=_document(manifest))["acknowledged"])

    def _call(self, method: str, path: str, **content: Any) -> dict[str, Any]:
        try:
            answer = self._session.request(method, f"{self._address}/v1/{path}", timeout=PATIENCE_S, **content)
            document = answer.json()
        except self._requests.exceptions.RequestException as error:
            raise NotSent(
                f"{self._address}: {_reason(error)}",
                remedy="everything is still here; send again when the service is reached",
            ) from None
        if answer.status_code == 200 and isinstance(document, dict):
            return document
        told = document if isinstance(document, dict) else {}
        message = str(told.get("message", f"answer {answer.status_code}"))
        remedy = str(told.get("remedy", "look at the service"))
        if answer.status_code == 422:
            raise BadSession(message, remedy=remedy)
        raise NotSent(f"{self._address}: {message}", remedy=remedy)


def _document(manifest: Manifest) -> dict[str, Any]:
    return {"name": manifest.name, "files": dict(manifest.files)}


def _reason(error: Exception) -> str:
    text = str(error)
    for sign, words in (
        ("certificate verify failed", "its certificate is not one that this machine trusts (--certificate FILE)"),
        ("Connection refused", "nobody answers there"),
        ("Max retries", "it does not answer"),
        ("timed out", "it does not answer in time"),
    ):
        if sign in text:
            return words
    return text.splitlines()[0][:200] if text else type(error).__name__


def _client() -> Any:
    try:
        import requests
    except ImportError:
        raise ModelMissing(
            "sending to a service needs requests, which is not installed",
            remedy="install the extra: .venv/bin/python -m pip install 'bolting-assistant[archive]'",
        ) from None
    return requests
