"""The rig as questions for a class: made once with their answers, by the analysis; shown and judged by others."""
