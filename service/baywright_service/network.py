"""Which addresses and names a service may be reached by."""

import ipaddress
import socket

from .settings import Settings

LEAST_TOKEN = 22  # characters of base64 that hold 128 bits


def is_loopback(host: str) -> bool:
    """Whether only this machine can reach `host`; a name counts by every address it has."""
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        pass
    if not host:
        return False
    try:
        found = socket.getaddrinfo(host, None)
    except OSError:
        return False
    return all(ipaddress.ip_address(str(entry[4][0])).is_loopback for entry in found)


def own_names(settings: Settings) -> frozenset[str]:
    """The names a Host header may hold, without the port."""
    names = {"localhost", "127.0.0.1", "::1", settings.host.strip("[]").lower()}
    names.update(name.strip("[]") for name in settings.allowed_hosts)
    if not is_loopback(settings.host):
        names.add(socket.gethostname().lower())
    return frozenset(names - {""})


def why_not_safe(settings: Settings) -> str:
    """Why the service must not start with these settings; empty where it may."""
    if settings.token and len(settings.token) < LEAST_TOKEN:
        return (
            f"The token has {len(settings.token)} characters; it needs at least {LEAST_TOKEN} "
            "random ones (128 bits). Make one with: "
            'python3 -c "import secrets; print(secrets.token_urlsafe(32))"'
        )
    if not settings.token and not is_loopback(settings.host):
        return (
            f"{settings.host or 'An empty host'} can be reached from other machines, so a token "
            "is needed. Set BAYWRIGHT_TOKEN (or BAYWRIGHT_TOKEN_FILE), or listen on 127.0.0.1."
        )
    return ""
