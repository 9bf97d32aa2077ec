"""The facts of an installation: what the rules, the documents and the comparisons read."""
