"""Plane curves and regions of lines and arcs: knows no wheel.

Reading order: ``curves``, ``polygons``, ``boundary``, ``outline``.
"""
