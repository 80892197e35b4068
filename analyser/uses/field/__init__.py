"""The rig on the ground: what is looked at before weighting, what was found, tests under load, cards. Plain data."""
