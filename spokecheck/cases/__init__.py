"""The regulatory tests as load cases, clause by clause.

Reading order: ``sourced``, ``schema``, ``library``, ``procedure`` (loads and cycles);
``loadcase``, ``tyre_patch``, ``steady``, ``cornering``, ``radial``, ``impact`` (forces
on the mesh).
"""
