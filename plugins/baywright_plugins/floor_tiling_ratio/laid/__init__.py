"""A floor over several sections: laid, sloped, edged, walled and counted.

Arrows run one way: `run`, `starts`, `sheet` (lay the panels) and the other numerics know lengths
only; `answer_*` turn validated inputs into numbers and back; `findings_*`, `drawing_*` read
records.
"""
