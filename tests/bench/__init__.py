"""How fast the science is: python -m tests.bench prints a table, and fails if slow."""
