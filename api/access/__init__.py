"""Who may come in, and the one shelf they see: by sign-in, by token, or on this machine alone."""
