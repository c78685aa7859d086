"""A second solver, kept as an oracle: it shares mesh, cell matrices and supports.

What differs is all that follows: degrees of freedom are reduced to the independent ones
(``reduction``), a sparse matrix is made for each residue and factored by CHOLMOD
(``factor``, ``ordering``), own cases turn and carry over the whole sparse matrix
(``static``).
It was the solver of own parts before the frontal factor served these too.
"""
