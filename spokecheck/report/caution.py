"""The one caution, in the two lengths that every output carries."""

SHORT = (
    "Screening only: it does not replace certified testing. The regulations in force, "
    "the test house and licensed engineering practice have the last word. "
    "A wheel that breaks can kill."
)
"""For the terminal and for one line in a table of results."""

FULL = (
    "spokecheck screens designs: it sorts variants and shows where to look first. "
    "It does not replace certified testing, and no margin it prints is an approval. "
    "Stress, load and strength here are models with known gaps; residual stress, "
    "defects, impact, corrosion and assembly are outside them unless stated. "
    "It defers to the regulations in force, to the test house and to licensed "
    "engineering practice. "
    "A wheel that breaks can kill: release nothing on this report alone."
)
"""For the page and the JSON."""
