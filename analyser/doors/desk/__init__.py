"""The desk: a rig written in the browser on this machine, and questioned while it is written."""
