"""The rig as papers to work from: the procedure that a team follows, and the failure worksheet. Plain data."""
