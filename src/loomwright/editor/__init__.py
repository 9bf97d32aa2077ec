"""The language server: what to answer an editor, in modules that know no protocol, and a thin server that speaks it.

Every answer is about a `Desk`, a real path and an offset in code points; `server.py` alone knows the protocol's positions.
"""
