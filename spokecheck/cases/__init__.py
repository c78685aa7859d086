"""The regulatory tests as load cases, clause by clause.

Reading order: ``schema``, ``library``, ``tyre_patch``, ``procedure`` (what is asked);
``loadcase``, ``steady``, ``cornering``, ``radial``, ``impact`` (how it acts).
"""
