"""From what a screening found to what people and machines read.

Reading order: ``numbers``, ``caution``, ``files``, ``rows``, ``json_report``,
``compare``, ``terminal``, ``junit``, ``marks``, ``callouts``, ``picture_job``,
``lettering``, ``pictures``, ``drawing``, ``section``, ``ruler``, ``page``, ``write``.
"""
