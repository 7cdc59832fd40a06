"""One cache for all tests that look at articles pressed on the coarse mesh of ``conftest``.

Files whose tests press on the standard mesh must not use it: the mesh is no part of its keys.
"""

from hidewright.workshop.graph import Cache

#: About how many triangles that mesh has.
COARSE_TRIANGLES = 700
CACHE = Cache()
