"""Wheels drawn or meshed by other programs: their surfaces identified by shape.

Reading order: ``paired_files``, ``facets``, ``surface_search``, ``identification``,
``division``.
"""
