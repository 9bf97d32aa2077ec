"""Rule text to typed rules to findings, in three-valued logic."""
