"""The stages of leaf buds and leaves by which a tree is judged, as BBCH codes.

Meier (ed.) 2001, BBCH Monograph, 2nd edition; wording from memory.
"""

CLOSED = 0
"""Buds are at rest."""
SWELLING = 1
"""Leaf buds begin to swell."""
GREEN = 7
"""Buds begin to burst: green shows."""
UNFOLDED = 10
"""The first leaves are separated."""
AUTUMN = 91
"""Shoots are done growing, leaves still on and turning."""
LEAFLESS = 97
"""All leaves have fallen."""
