"""Customers entered twice: finding them, and making one of two without losing either's records."""
