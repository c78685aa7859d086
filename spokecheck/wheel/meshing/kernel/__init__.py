"""The home of gmsh: solid from the drawing, mesh from the solid.

``session`` runs one task, ``__main__`` does so in a process of its own; ``solid``
builds, ``faces`` names, ``size_fields`` says how fine, ``readout`` reads the mesh back,
``exchange`` writes files, ``symmetry`` finds that of a solid from elsewhere.
Nothing here knows the design file.
"""
