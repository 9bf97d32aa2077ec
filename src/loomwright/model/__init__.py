"""From declarations to an installation: things with names, all references resolved."""
