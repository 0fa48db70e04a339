"""The service that is started for one command: where it calculates."""

from typing import Any

import pytest

from baywright_client.embedded import embedded_api
from baywright_client.errors import BadUsage
from baywright_service.settings import Settings, SettingsError, processors

CLUSTER = "tcp://127.0.0.1:8786"


def chosen(
    monkeypatch: pytest.MonkeyPatch, environment: dict[str, str], **options: Any
) -> Settings:
    """The settings a command would start its service with."""
    asked: list[Settings] = []

    def listen(settings: Settings) -> None:
        asked.append(settings)
        raise SettingsError("It has been seen.")

    for name in ("BAYWRIGHT_WORKERS", "BAYWRIGHT_CLUSTER"):
        monkeypatch.delenv(name, raising=False)
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    monkeypatch.setattr("baywright_service.server.listen", listen)
    with pytest.raises(BadUsage, match="It has been seen"), embedded_api(**options):
        pass
    return asked[0]


@pytest.mark.parametrize(
    ("environment", "options", "workers", "cluster"),
    [
        ({}, {}, 0, ""),
        ({"BAYWRIGHT_WORKERS": "3"}, {}, 3, ""),
        ({"BAYWRIGHT_CLUSTER": CLUSTER}, {}, 0, ""),
        ({}, {"workers": True}, processors(), ""),
        ({"BAYWRIGHT_WORKERS": "3"}, {"workers": True}, 3, ""),
        ({"BAYWRIGHT_CLUSTER": CLUSTER}, {"workers": True}, processors(), CLUSTER),
    ],
)
def test_one_command_calculates_in_its_own_process_unless_told_otherwise(
    monkeypatch: pytest.MonkeyPatch,
    environment: dict[str, str],
    options: dict[str, Any],
    workers: int,
    cluster: str,
) -> None:
    settings = chosen(monkeypatch, environment, **options)
    assert (settings.workers, settings.cluster) == (workers, cluster)
    assert settings.host == "127.0.0.1" and settings.token
