"""One module a command: each parses its options, calls one function, prints."""
