"""How fast the holding engine and the statics are, measured on this machine: run `python -m tests.bench`."""
