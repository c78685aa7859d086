"""From the drawing to a sound mesh.

Reading order: ``sizing``, ``kernel``, ``kernel_process``, ``mesher``, ``mesh_check``,
``dents``, ``mesh_parts``, ``sound_mesh``.
"""
