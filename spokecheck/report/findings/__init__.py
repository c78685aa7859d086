"""Findings in words and figures: terminal, JSON, pages, JUnit, comparison.

Reading order: ``numbers``, ``rows``, ``summary``, ``terminal``, ``json_model``,
``json_report``, ``junit``, ``comparison``, ``assumptions``, ``frame``, ``ruler``,
``page``, ``comparison_page``; ``load_tables``, ``alloy_tables`` and
``handbook_tables`` stand by themselves.
"""
