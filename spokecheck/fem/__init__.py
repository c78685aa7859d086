"""The linear-elastic solver, from E and nu to recovered stress.

Reading order: ``elasticity``, ``block_sparse``, ``assembly``, ``loads``, ``cyclic``,
``reduction``, ``ordering``, ``factor``, ``solve``; ``dissection``, ``fronts``,
``sector``; ``stress``, ``recovery``; then, for one's own case,
``supports``, ``actions``, ``constraints``, ``probe``, ``part``, ``static``, ``modal``.
"""
