"""Pictures of a wheel with its hot spots, rendered and drawn.

Reading order: ``marks``, ``callouts``, ``picture_job``, ``picture_process``,
``render``, ``snapshot``, ``lettering``, ``portrait``, ``section_drawing``,
``silhouette``.
"""
