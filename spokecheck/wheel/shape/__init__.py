"""The drawing of a wheel: section, windows, cutters, zones and surfaces.

Reading order: ``drawing``, ``rim``, ``hump``, ``hub``, ``profile``, ``spoke_bars``,
``patterns``, ``windows``, ``window_shift``, ``spoke_pockets``, ``hub_pockets``,
``bolts``, ``valve``, ``zones``, ``sector_cut``, ``wheel_shape``, ``surfaces``,
``ring``, ``two_parts``, ``way``, ``landmarks``, ``fallbacks``, ``remarks``,
``estimate``.
"""
