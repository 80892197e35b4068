"""What stands behind `import analyser`: its verbs, and how results show themselves in a notebook."""
