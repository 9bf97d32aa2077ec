"""Comparing two specs: what is another thing, what only has another name, which figures and findings moved."""
