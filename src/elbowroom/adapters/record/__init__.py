"""The clinic's record in a database: SQLite sealed by SQLCipher, or PostgreSQL."""
