"""The thin client: no engineering; it speaks to the service over HTTP only."""
