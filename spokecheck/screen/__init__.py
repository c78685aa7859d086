"""From a design to a ranked list of hot spots.

Reading order: ``places``, ``hotspots``, ``results``, ``verdict``, ``pipeline``,
``compare``, ``batch``.
"""
