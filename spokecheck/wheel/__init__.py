"""From a design file to a meshed wheel.

Reading order: ``sizes``, ``design``, ``curves``, ``rim``, ``profile``, ``windows``,
``bolts``, ``drawing``, ``shape``, ``limits``, ``read``, ``surfaces``, ``kernel``,
``mesher``, ``build``.
"""
