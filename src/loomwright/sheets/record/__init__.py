"""The commissioning record's lines: which tests are made on what, and what each should show."""
