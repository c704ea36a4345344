"""A customer's grip on record, apart from what any one ball has."""
