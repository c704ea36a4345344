"""All of a database in one file, and back again, on either kind of database.

``rows``: a table's rows as lines of text that mean the same on both; ``archive``: the file.
Sign-ins are left out: whoever was signed in signs in again.
"""
