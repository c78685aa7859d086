"""Conduct runs: many designs, their processes, their cache, their files.

Reading order: ``project_file``, ``selection``, ``changes`` (which designs); ``job``,
``write``, ``stored``, ``cache``, ``serving``, ``batch``, ``screen_job``, ``precheck``,
``designs`` (what is done);
``export`` and ``handbook_job`` are independent of these.
"""
