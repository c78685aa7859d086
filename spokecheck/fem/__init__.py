"""The linear-elastic solver, from E and nu to recovered stress.

Reading order: ``elasticity``, ``assembly``, ``loads``, ``cyclic``, ``reduction``,
``solve``, ``stress``, ``recovery``.
"""
