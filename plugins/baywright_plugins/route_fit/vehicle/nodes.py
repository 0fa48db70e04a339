"""How much searching is allowed: counted in nodes, so that equal requests end alike."""

from dataclasses import dataclass


class OutOfNodes(Exception):
    """The search was ended by its limit; nothing is proven by its end."""


@dataclass
class Nodes:
    """Nodes searched, and how many there may be."""

    limit: int
    used: int = 0

    def spend(self, count: int = 1) -> None:
        """Count one step of a search. Raises OutOfNodes past the limit."""
        self.used += count
        if self.used > self.limit:
            raise OutOfNodes
