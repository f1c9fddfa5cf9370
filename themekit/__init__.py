"""The computing core: colours, themes, best threes and what follows from them.

Pure functions over frozen values: no web, no database, no files, no clock and
no unseeded randomness.
"""

__version__ = "0.1.0"
