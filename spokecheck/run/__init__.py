"""Conduct runs: many designs, their processes, their cache, their files.

Reading order: ``job``, ``write``, ``stored``, ``cache``, ``serving``, ``batch``,
``screen_job``, ``designs``;
``export`` and ``handbook_job`` are independent of these.
"""
