"""From the thing to be carried to moulds, templates, stitch lines and cut files."""

import os

# Sums of linear algebra hang on how many threads share them, to the last bit; and our matrices are
# too small to gain by it. It is read when that library is loaded, so it stands first.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
