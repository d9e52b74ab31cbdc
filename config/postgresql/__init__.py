"""Django's way to PostgreSQL, which looks at a connection that it keeps instead of asking it."""
