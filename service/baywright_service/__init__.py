"""The host: knows HTTP, plug-ins, plans and documents; knows no engineering.

Arrows run one way: client -> HTTP, plug-ins -> contract, service -> contract.
"""
