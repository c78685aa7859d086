"""The linear-elastic solver, from E and nu to recovered stress.

Reading order: ``elasticity``, ``pairs``, ``assembly``, ``loads``, ``cyclic``,
``reduction``, ``ordering``, ``factor``, ``solve``; ``dissection``, ``fronts``,
``sector``; ``stress``, ``recovery``, ``face_strain``, ``surface_stress``, ``error``;
then, for one's own case,
``supports``, ``actions``, ``constraints``, ``probe``, ``part``, ``static``, ``modal``.
"""
