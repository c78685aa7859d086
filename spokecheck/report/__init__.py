"""From what a screening found to what people and machines read.

Reading order: ``numbers``, ``caution``, ``files``, ``rows``, ``json_report``,
``compare``, ``terminal``, ``junit``, ``marks``, ``callouts``, ``picture_job``,
``snapshot``, ``lettering``, ``pictures``, ``drawing``, ``section``, ``ruler``,
``page``, ``write``, ``job``; ``loads`` and ``alloys`` stand by themselves.
"""
