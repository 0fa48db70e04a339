"""The host: knows HTTP, plug-ins, plans and documents; knows no engineering.

Arrows run one way: client -> HTTP, plug-ins -> contract, service -> contract.
"""

import os

# Must stand before numpy is first imported: matrices here are small, and on a busy machine the
# threads of the linear algebra library wait for one another a hundred times longer than they work.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
