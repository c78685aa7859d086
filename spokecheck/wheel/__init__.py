"""From a design file to a meshed wheel, in five wings.

``tables`` (the design file as records), ``shape`` (the drawing), ``reading`` (files and
what they may not say), ``meshing`` (from the drawing to a sound mesh), ``elsewhere``
(wheels drawn or meshed by other programs); above them ``origin``, ``build`` and
``source``, the ways a wheel comes about.
"""
