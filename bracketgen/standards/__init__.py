"""Read-only tables with a source for every row, and typed look-ups.

The tables are CSV files in `tables/`, with units in the column headers. Every row says where its figures come
from (`source`, one or more ids of `tables/sources.toml`) and how they were had (`how`: read, memory, computed,
common practice). What a table does not hold is said with a `LookupFault`, never filled in.
"""
