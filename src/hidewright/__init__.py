"""From the thing to be carried to moulds, templates, stitch lines and cut files."""
