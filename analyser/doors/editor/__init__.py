"""The language server: what an editor shows of a rig while it is being written."""
