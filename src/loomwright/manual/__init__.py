"""The manual that is made from the program itself: rules, facts, limits, and the tables of both languages."""
