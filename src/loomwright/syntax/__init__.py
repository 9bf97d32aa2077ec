"""From text to declarations: the fit-out language."""
