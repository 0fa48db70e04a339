"""The engineering: each calculator a folder, and the model of kit and frame they share.

Arrows run one way: calculators -> frame -> kit, and all of them -> the service's contract.
A calculator may import another's numerics, never its `__init__`.
"""
