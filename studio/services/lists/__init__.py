"""Lists that people bring in as a file: their tables, their columns, and what becomes of a row."""
