"""People's own accounts: passwords chosen and forgotten, and sessions that end."""
