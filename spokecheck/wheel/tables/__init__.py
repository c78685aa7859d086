"""The tables of the design file and of the sidecar file, as records.

Reading order: ``key_fields``, ``sizes``, ``rim_table``, ``hub_table``,
``spokes_table``, ``design``, ``sidecar``.
"""
