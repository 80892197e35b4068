"""A rig as something to be reviewed, as plain data: every answer stored compactly, what there is to answer, what
a reviewer said of it."""
