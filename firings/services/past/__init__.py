"""Firings from before the site, as a list has them: what becomes of each row, and why."""
