"""The linear-elastic solver, from E and nu to recovered stress.

Reading order: ``elasticity``, ``block_sparse``, ``assembly``, ``loads``, ``cyclic``,
``orders``; ``dissection``, ``fronts``, ``stiffness``, ``cuts``; two parts of unlike
symmetry: ``joined``, ``joined_stiffness``, ``tied_ring``, ``condensed``, ``ring``;
``sector``; ``stress``, ``ghosts``, ``recovery``, ``face_strain``, ``surface_stress``,
``error``, ``body``; finer cells: ``submodel``, ``composite``; then, for one's own case,
``supports``, ``line_loads``, ``split_loads``, ``actions``, ``constraints``,
``restraint``, ``mirrors``, ``held_body``, ``own_surface``, ``probe``, ``solution``,
``static``, ``grid_convergence``, ``local_halving``, ``refined``, ``modal``.
"""
