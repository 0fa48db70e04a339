"""The thin client: no engineering; it speaks to the service over HTTP only.

Arrows run one way: cli -> commands' helpers -> api -> HTTP. Only `embedded` knows the service's
package, and only inside the functions that start it.
"""
