"""`python -m baywright_client` is `baywright`."""

from .cli import main

if __name__ == "__main__":
    main()
