"""The command line: one module a command. Nothing else in the house prints."""
