"""Meshes as plain arrays: the record, structured blocks, quality and file exchange.

Reading order: ``record``, ``shapes``, ``quadrature``, ``quality``, ``blocks``,
``ruled_blocks``, ``parts``, ``notches``, ``files``, ``reading_process``,
``soundness``, ``named_files``.
"""
