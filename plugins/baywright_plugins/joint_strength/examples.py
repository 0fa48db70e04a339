"""Inputs that show one use each."""

from baywright_service.contract import Example

READINGS = [9.85, 8.42, 10.61, 9.12, 10.95, 8.88, 9.47, 11.21, 8.05, 9.96, 10.32, 9.03]

EXAMPLES = (
    Example(
        "A touring machine: twelve pulls, wear and standing tested",
        {
            "title": "R120 with a hub on both ends",
            "readings": READINGS,
            "reading_unit": "kgf",
            "kgf_n": 9.81,
            "assemblies_count": 20,
            "standing_days": 30,
            "reassembly": {
                "assemblies": [1, 5, 10, 20, 40],
                "strength": [9.66, 9.12, 8.74, 8.27, 7.9],
            },
            "standing": {"days": [1, 7, 30], "strength": [1.0, 0.975, 0.955]},
            "needed_n": 60,
        },
    ),
    Example(
        "Single ends on a scale that stops at 25 lb",
        {
            "title": "one end of R170",
            "readings": [19.4, 25, 22.1, 20.8, 25, 23.9, 18.2, 24.4, 21.5, 25],
            "reading_unit": "lbf",
            "scale_limit": 25,
            "tested": "single-end",
            "distribution": "log-normal",
            "assemblies_count": 1,
        },
    ),
    Example("An empty test sheet to print", {"title": "R120, two halves free", "halves": "free"}),
)
