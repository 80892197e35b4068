"""What a good reviewer would say: one small module a rule, and the requirements that were asked."""
