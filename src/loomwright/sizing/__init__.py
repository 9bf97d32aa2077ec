"""Choosing cable sizes and fuse ratings: the least cost at which the rule book has nothing to say of sizes."""
