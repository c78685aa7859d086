"""Files as nobody writes them, and runs that are killed: what must hold all the same.

``python -m tests.hostile --cases 10000 --seed 1`` runs as many mutated files as asked.
"""
