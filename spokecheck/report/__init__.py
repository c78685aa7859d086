"""From what a screening found to what people and machines read.

Reading order: ``numbers``, ``caution``, ``files``, ``rows``, ``json_report``,
``compare``, ``terminal``, ``junit``, ``marks``, ``callouts``, ``picture_job``,
``snapshot``, ``lettering``, ``pictures``, ``drawing``, ``section``, ``ruler``,
``page``, ``write``, ``job``; ``loads`` and ``alloys`` stand by themselves.
The drawn sheet: ``ink``, ``sheet``, ``board``, ``dimensions``, ``regions``, ``planes``,
``views``, ``section_dimensions``, ``face_dimensions``, ``title_block``,
``design_sheet``.
"""
