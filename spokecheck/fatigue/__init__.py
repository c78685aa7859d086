"""From a stress history over one turn of the load to a margin and a life.

It takes plain arrays and sees neither mesh nor solver.
Reading order: ``tensors``, ``history``, ``sampling``, ``enclosing_sphere``,
``critical_planes``, ``measures``, ``criteria``, ``findley`` (the multiaxial half);
``guideline``, ``mean_stress``, ``sn``, ``sn_routes``, ``facts``, ``alloys``,
``knockdowns``, ``support``, ``defects`` (the material half); ``audit``, ``strength``,
``assess`` (where both meet).
"""
