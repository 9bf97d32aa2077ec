"""The install documents: one module a sheet, each a function from the checked installation to a neutral document."""
