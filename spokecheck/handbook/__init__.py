"""Closed-form and published cases, and what runs them.

Reading order: ``record``, any family such as ``beams``, ``catalogue``, ``runner``,
``convergence``.
"""
