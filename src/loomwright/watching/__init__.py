"""`watch`: a spec checked as it is saved, its findings in the terminal and its papers as a page on this machine only."""
