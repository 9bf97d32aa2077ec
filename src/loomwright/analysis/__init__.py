"""Computations: plain numbers in, plain numbers out. Nothing here knows of a spec, a rule or a page.

The modules import one another and the standard library, nothing else of the package, and no array library: a
network of a vehicle is sparse and nearly a tree, and a cold start has no time for one.
"""
