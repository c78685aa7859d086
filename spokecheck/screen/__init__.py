"""From a design to a ranked list of hot spots.

Reading order: ``pipeline``, ``request``; the loop: ``rounds``, ``loaded``,
``outer_stress``, ``copied_stress``, ``ranking``, ``hotspots``, ``adapt``,
``local_refinement``, ``part_refinement``, ``solved_bodies``, ``tracked_spots``,
``error_bars``; what is returned: ``findings``,
``conclude``, ``describe_tests``, ``describe_wheel``, ``results``, ``verdict``.
"""
