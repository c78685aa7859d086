"""From the findings of a screening to what people and machines read.

``caution``, ``whole_files`` and ``stems`` serve all wings: ``sheet`` (the drawn sheet),
``pictures`` (rendered pictures and line drawings with hot spots), ``findings``
(terminal, JSON, pages, JUnit).
"""
