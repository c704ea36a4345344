"""What the engine solved before, kept in the database for every worker and page."""
