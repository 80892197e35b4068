"""Two revisions of one rig: what changed in the rig, and what that did to those who hang in it."""
