"""The drawing of a wheel: section, windows, cutters, zones and surfaces.

Reading order: ``drawing``, ``rim``, ``hump``, ``hub``, ``spoke_lines``, ``rim_joint``,
``profile``, ``spoke_bars``, ``patterns``, ``windows``, ``section_joints``,
``spoke_pockets``, ``hub_pockets``, ``bolts``, ``valve``, ``zones``, ``sector_cut``,
``wheel_shape``, ``surfaces``, ``ring``, ``two_parts``, ``way``, ``landmarks``,
``fallbacks``, ``room``, ``departures``, ``remarks``, ``estimate``.
"""
