"""How much of a file is looked at before it is refused?

An owner's list has tens of rows. These walls stand far beyond that and far below what
would hold up a worker: a workbook of 200 kB can unpack to hundreds of megabytes.
"""

FILE_BYTES = 5_000_000
ROWS = 2_000
"""Tank rows. A longer list is a list of something else."""
COLUMNS = 100
CELL_CHARACTERS = 500
ROWS_LOOKED_AT = 10_000
"""Physical rows, blank ones included: sheets are often formatted far below the last entry."""
HEADING_WITHIN = 40
"""The headings are looked for in this many rows that are not blank."""

ZIP_ENTRIES = 500
ZIP_UNPACKED_BYTES = 25_000_000
