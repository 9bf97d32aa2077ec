"""The solved network of an installation, mode by mode, and what a fault in it does.

`resistances` says what each piece of the way resists, `wiring` joins the pieces to a graph of terminals, `switching` which
contacts a mode closes, `sources` what drives and what takes current. `solve` finds the operating point of a mode, conductors as
warm as their current makes them; `faults` the two corners of a short circuit. The other modules register the facts.
"""
