"""What a run ends in when it is not a value and not what the function itself raised.

Failure            the answer it becomes (see `outcome`)
+ DeadlinePassed   422 calculation-limit, with limit_s
+ OutOfMemory      422 calculation-limit, with limit_mib
+ WorkerDied       500 internal
+ NotPortable      500 internal
+ ClusterLost      503 cluster-unreachable
+ Closed           503 stopping
"""


class Failure(Exception):
    """A run that came to nothing, for a reason outside the function."""


class DeadlinePassed(Failure, TimeoutError):
    """The run was ended at its deadline."""


class OutOfMemory(Failure, MemoryError):
    """The run asked for more memory than one calculation may hold: its argument, in MiB."""


class WorkerDied(Failure):
    """The process that ran it ended: by a signal, a fault of compiled code, or the system."""


class NotPortable(Failure):
    """A function, argument or value that cannot travel between processes."""


class ClusterLost(Failure):
    """The scheduler, or every worker of the cluster, has been out of reach for too long."""


class Closed(Failure):
    """No more work is taken."""
