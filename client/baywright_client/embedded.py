"""A service of our own for the time of one command. The only module that knows its package."""

import os
import secrets
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from .api import Api
from .errors import BadUsage, NoAnswer

#: Words meant for a service that stays; one started for a command has an address and token of
#: its own.
_OF_A_SERVER = ("BAYWRIGHT_HOST", "BAYWRIGHT_PORT", "BAYWRIGHT_TOKEN", "BAYWRIGHT_TOKEN_FILE")
#: Nobody else waits for a service that answers one command, so it may calculate for longer.
PATIENCE_S = "120"


@contextmanager
def embedded_api(*, forgetful: bool = False, workers: bool = False) -> Iterator[Api]:
    """An Api on a free loopback port; `forgetful` keeps stored documents out of it.

    It calculates in its own process, which is started soonest, unless BAYWRIGHT_WORKERS is set.
    With `workers` it takes worker processes or the cluster, as a service that stays does.
    Raises BadUsage where the environment holds settings it cannot start with.
    """
    token = secrets.token_urlsafe(32)
    environment = {key: value for key, value in os.environ.items() if key not in _OF_A_SERVER}
    environment.setdefault("BAYWRIGHT_CALCULATION_LIMIT_S", PATIENCE_S)
    if not workers:
        environment.setdefault("BAYWRIGHT_WORKERS", "0")
        environment.pop("BAYWRIGHT_CLUSTER", None)
    options = {"host": "127.0.0.1", "port": 0, "token": token}
    running = _bound(environment, {**options, **({"store": ":memory:"} if forgetful else {})})
    running.start()
    api = Api(running.url, token=token, local=True)
    patient = True
    try:
        yield api
    except KeyboardInterrupt:
        patient = False  # a calculation may be under way; the process ends without waiting for it
        raise
    finally:
        api.close()
        if patient:
            running.close()


def serve(given: Mapping[str, Any], say: Callable[[str], None]) -> None:
    """Answer requests until interrupted; `say` gets the address once it listens.

    `given` holds the settings named on the command line, over those of the environment. Ends in
    KeyboardInterrupt, which the server itself would keep to itself.
    """
    running = _bound(dict(os.environ), given)
    say(running.url)
    running.run()
    raise KeyboardInterrupt


def _bound(environment: Mapping[str, str], options: Mapping[str, Any]) -> Any:
    """A server that holds its port, not yet answering."""
    from dataclasses import replace

    try:
        from baywright_service.server import listen
        from baywright_service.settings import Settings, SettingsError
    except ImportError as error:
        raise NoAnswer(
            f"No service can be started here ({error}).",
            "Install baywright whole, or name a running service: --service http://host:8080",
        ) from error
    try:
        return listen(replace(Settings.from_environment(environment), **options))
    except SettingsError as error:
        raise BadUsage(str(error), "See: baywright serve --help") from error
