"""Published tables as data, and the look-ups on them: plain numbers and small records.

Every table carries its source and how its figures came to be here (`basis`): "read" in a copy of the source, worked
out ("computed"), recalled ("memory"), or trade custom ("common practice, no source"). A look-up hands both on.
"""
