"""Backwards: which smallest failures are consistent with what was seen after an accident."""
