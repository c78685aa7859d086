"""From a design file to a meshed wheel.

Reading order: ``sizes``, ``design``, ``curves``, ``rim``, ``profile``, ``windows``,
``bolts``, ``shape``, ``limits``, ``read``, ``surfaces``, ``gmsh_mesher``, ``mass``,
``build``.
"""
