"""From the drawing to a sound mesh.

Reading order: ``sizing``, ``kernel``, ``kernel_process``, ``mesher``, ``mesh_check``,
``dents``, ``sound_mesh``.
"""
