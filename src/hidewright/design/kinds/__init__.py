"""The kinds of article: one file each, a constructor from measures to a design and nothing else."""
