"""From a design to a ranked list of hot spots.

Reading order: ``pipeline``, ``request``, ``rounds``, ``loaded``, ``ranking``,
``hotspots``, ``places``, ``adapt``, ``local_refinement``, ``tracked_spots``,
``error_bars``, ``results``, ``verdict``.
"""
