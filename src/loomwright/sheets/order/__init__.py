"""The work order's parts, in the order of the work."""
