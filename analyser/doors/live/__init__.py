"""The live view: a rig that is looked at again after each save, and its page in a browser."""
