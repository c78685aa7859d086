"""The regulatory tests as load cases, clause by clause.

Reading order: ``procedure``, ``patch``, ``cornering``, ``radial``.
"""
