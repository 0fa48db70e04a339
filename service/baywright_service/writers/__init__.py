"""A `Drawing` on paper (PDF) and for cutting (DXF); as SVG it is written by `drawing` itself.

The libraries that write them are imported at the first page, so that nothing else waits for them.
"""
