"""How fast the holding engine is, measured on this machine: run `python -m tests.bench`."""
