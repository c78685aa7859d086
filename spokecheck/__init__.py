"""Stress screener for aluminium road-wheel spoke designs."""
