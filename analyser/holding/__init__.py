"""Who is still held: the rules of holding, and the search for what brings each body down.

Read beside the rules themselves: `monotone` (least fixed points over columns of scenarios),
`structure` (a rig as numbers), `sections` (rule 5), `solving` (rules 1-5, exactly), `system` (the
rig as a monotone system of failures), `search` (failure sets, ways, independent attachments).
Nothing here knows of text, colour or force.
"""
