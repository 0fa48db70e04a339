"""`python -m baywright_service`: serve with the settings of the environment."""

import sys

from .server import serve
from .settings import Settings, SettingsError


def main() -> int:
    """0 when ended by hand, 2 when the settings do not allow a start."""
    try:
        serve(Settings.from_environment())
    except SettingsError as error:
        print(f"baywright: {error}", file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())
