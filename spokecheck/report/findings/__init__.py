"""Findings in words and figures: terminal, JSON, pages, JUnit, comparison.

Reading order: ``numbers``, ``sentences``, ``terminal``, ``json_report``, ``junit``,
``comparison``, ``frame``, ``ruler``, ``page``, ``comparison_page``; ``load_tables``,
``alloy_tables`` and ``handbook_tables`` are independent of these.
"""
