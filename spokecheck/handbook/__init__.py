"""Closed-form and published cases, and what runs them.

Reading order: ``case``, any family such as ``beams``, ``catalogue``, ``runner``,
``convergence``.
"""
