"""What one addition would take away the most small failure sets?

Every proposal is written in the rig language and judged by reading the rig again with its lines
put in: what is printed to paste is what was analysed. `proposal` (lines and where they go),
`around` (what is near a body, and what the trade attaches to), one module a sort of addition
(`straps`, `tails`, `beside`, `pads`, `stoppers`, `hands`, `anchors`, `lines`), `ranking` (what
each takes away). It ranks structure, not practice.
"""
