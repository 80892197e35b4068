"""Who is still held: the rules of holding (`rules.md` in this folder), and the search through them.

Read beside the rules, in this order: `monotone` (least fixed points over columns of scenarios),
`structure` (a rig as numbers), `standing_frames`, `least_sets` (what the ground bears), `solving` (rules 1-5, exactly),
`system` (the rig as a monotone system of failures and bodies), `search` (failure sets, ways, independent
ways of any such system), `portions` and `series` (making it small first), `attachments`, `reviewing`
(the search over a whole rig, by name), `importance` (probabilities), `outcome` (everything about one
state). Nothing here knows of text, colour or force.
"""
