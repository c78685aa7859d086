"""Closed-form cases and their runner."""
