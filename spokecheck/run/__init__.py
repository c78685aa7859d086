"""Conduct runs: many designs, their processes, their cache, their files.

Reading order: ``job``, ``write``, ``stored``, ``cache``, ``batch``, ``designs``;
``export`` and ``handbook_job`` are independent of these.
"""
