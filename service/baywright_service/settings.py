"""What an operator can set, read from the environment once."""

import os
import secrets
import stat
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit


class SettingsError(Exception):
    """A setting that the service will not start with: which one, and what to do."""


@dataclass(frozen=True)
class Settings:
    """One frozen object; `from_environment` fills it from the variables named beside the fields."""

    #: BAYWRIGHT_HOST: the address to listen on.
    host: str = "127.0.0.1"
    #: BAYWRIGHT_PORT: 0 takes a free one.
    port: int = 8080
    #: BAYWRIGHT_TOKEN, or the content of the file BAYWRIGHT_TOKEN_FILE names.
    token: str = field(default="", repr=False)
    #: BAYWRIGHT_STORE: the file of stored documents; ":memory:" forgets them at the end.
    store: str = ":memory:"
    #: BAYWRIGHT_ALLOWED_HOSTS: further names the service answers to, separated by commas.
    allowed_hosts: tuple[str, ...] = ()
    #: BAYWRIGHT_ALLOWED_ORIGINS: pages of other sites that may ask, such as https://hall.example,
    #: separated by commas.
    allowed_origins: tuple[str, ...] = ()
    #: BAYWRIGHT_THREADS: requests answered at a time.
    threads: int = 8
    #: BAYWRIGHT_WORKERS: worker processes for calculations; 0 computes in this process, which
    #: can give a calculation up but not end it. A service of its own has as many as processors.
    workers: int = 0
    #: BAYWRIGHT_CALCULATION_LIMIT_S
    calculation_limit_s: float = 10.0
    #: BAYWRIGHT_MEMORY_LIMIT_MIB: of one calculation in a worker process.
    memory_limit_mib: int = 2048
    #: BAYWRIGHT_CLUSTER: the scheduler of a cluster, such as tcp://10.0.0.1:8786; "" for none.
    cluster: str = ""
    #: BAYWRIGHT_VARIANT_LIMIT: variants in one batch.
    variant_limit: int = 10_000
    #: BAYWRIGHT_BATCH_LIMIT: batches that wait or run.
    batch_limit: int = 100
    #: BAYWRIGHT_BATCH_DAYS: how long a batch is kept after its end.
    batch_days: int = 30
    #: BAYWRIGHT_STREAM_LIMIT: event streams at a time.
    stream_limit: int = 16
    #: BAYWRIGHT_REMEMBERED_MIB: answers kept so that equal inputs are not calculated again.
    remembered_mib: int = 256
    #: BAYWRIGHT_BODY_LIMIT_BYTES: of a request, unpacked.
    body_limit_bytes: int = 4 * 1024 * 1024
    #: BAYWRIGHT_DEPTH_LIMIT: arrays and objects inside one another.
    depth_limit: int = 32
    #: BAYWRIGHT_HEADER_LIMIT_BYTES: all headers together.
    header_limit_bytes: int = 16 * 1024
    #: BAYWRIGHT_URI_LIMIT_BYTES: path and query.
    uri_limit_bytes: int = 8 * 1024

    @classmethod
    def from_environment(cls, environment: Mapping[str, str] | None = None) -> "Settings":
        """Settings from `environment` (the process's own by default). Raises SettingsError."""
        given = os.environ if environment is None else environment
        return cls(
            host=given.get("BAYWRIGHT_HOST", cls.host),
            port=_whole(given, "BAYWRIGHT_PORT", cls.port, 0, 65535),
            token=_token(given),
            store=given.get("BAYWRIGHT_STORE") or str(default_store(given)),
            allowed_hosts=_names(given, "BAYWRIGHT_ALLOWED_HOSTS"),
            allowed_origins=tuple(
                _origin(name) for name in _names(given, "BAYWRIGHT_ALLOWED_ORIGINS")
            ),
            threads=_whole(given, "BAYWRIGHT_THREADS", cls.threads, 1, 256),
            workers=_whole(given, "BAYWRIGHT_WORKERS", processors(), 0, 64),
            calculation_limit_s=_number(
                given, "BAYWRIGHT_CALCULATION_LIMIT_S", cls.calculation_limit_s, 0.01, 86400.0
            ),
            memory_limit_mib=_whole(
                given, "BAYWRIGHT_MEMORY_LIMIT_MIB", cls.memory_limit_mib, 256, 2**20
            ),
            cluster=given.get("BAYWRIGHT_CLUSTER", "").strip(),
            variant_limit=_whole(
                given, "BAYWRIGHT_VARIANT_LIMIT", cls.variant_limit, 1, 10_000_000
            ),
            batch_limit=_whole(given, "BAYWRIGHT_BATCH_LIMIT", cls.batch_limit, 1, 100_000),
            batch_days=_whole(given, "BAYWRIGHT_BATCH_DAYS", cls.batch_days, 1, 36_500),
            stream_limit=_whole(given, "BAYWRIGHT_STREAM_LIMIT", cls.stream_limit, 1, 10_000),
            remembered_mib=_whole(given, "BAYWRIGHT_REMEMBERED_MIB", cls.remembered_mib, 0, 2**20),
            body_limit_bytes=_whole(
                given, "BAYWRIGHT_BODY_LIMIT_BYTES", cls.body_limit_bytes, 1024, 2**28
            ),
            depth_limit=_whole(given, "BAYWRIGHT_DEPTH_LIMIT", cls.depth_limit, 4, 200),
            header_limit_bytes=_whole(
                given, "BAYWRIGHT_HEADER_LIMIT_BYTES", cls.header_limit_bytes, 1024, 128 * 1024
            ),
            uri_limit_bytes=_whole(
                given, "BAYWRIGHT_URI_LIMIT_BYTES", cls.uri_limit_bytes, 256, 64 * 1024
            ),
        )


def processors() -> int:
    """Worker processes of a service that has the machine to itself: 1 to 8."""
    return max(1, min(8, len(os.sched_getaffinity(0))))


def default_store(environment: Mapping[str, str]) -> Path:
    """Where documents are kept unless BAYWRIGHT_STORE says otherwise."""
    home = environment.get("XDG_DATA_HOME") or Path.home() / ".local" / "share"
    return Path(home) / "baywright" / "documents.sqlite3"


def _names(given: Mapping[str, str], name: str) -> tuple[str, ...]:
    return tuple(part.strip().lower() for part in given.get(name, "").split(",") if part.strip())


def _origin(text: str) -> str:
    """The origin of a page as browsers send it. Raises SettingsError."""
    parts = urlsplit(text)
    if parts.scheme not in ("http", "https") or text != f"{parts.scheme}://{parts.netloc}":
        detail = "needs origins such as https://hall.example, without a path or a *"
        raise SettingsError(f"BAYWRIGHT_ALLOWED_ORIGINS {detail}; found {text!r}.")
    return text


def _whole(given: Mapping[str, str], name: str, default: int, low: int, high: int) -> int:
    text = given.get(name, "")
    if not text:
        return default
    if not text.isdecimal() or not low <= int(text) <= high:
        raise SettingsError(f"{name} must be a whole number from {low} to {high}, not {text!r}.")
    return int(text)


def _number(given: Mapping[str, str], name: str, default: float, low: float, high: float) -> float:
    text = given.get(name, "")
    if not text:
        return default
    try:
        number = float(text)
    except ValueError:
        number = float("nan")
    if not low <= number <= high:
        raise SettingsError(f"{name} must be a number from {low:g} to {high:g}, not {text!r}.")
    return number


def _token(given: Mapping[str, str]) -> str:
    token, path = given.get("BAYWRIGHT_TOKEN", ""), given.get("BAYWRIGHT_TOKEN_FILE", "")
    if token or not path:
        return token.strip()
    try:
        if not os.path.exists(path):
            _write_token(path)
        if stat.S_IMODE(os.stat(path).st_mode) & 0o077:
            raise SettingsError(
                f"Others can read the token file {path}. Take that right away: chmod 600 {path}"
            )
        return Path(path).read_text("ascii").strip()
    except (OSError, UnicodeDecodeError) as error:
        raise SettingsError(f"The token file {path} cannot be read: {error}.") from error


def _write_token(path: str) -> None:
    """A fresh token for its owner's eyes only; it stays, so that restarts keep it."""
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
        file.write(secrets.token_urlsafe(32) + "\n")
