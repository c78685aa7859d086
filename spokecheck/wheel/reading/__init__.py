"""Read design and sidecar files, and report all their faults together.

Reading order: ``read``, ``limits``, and the limits of each table.
"""
