"""Secrets that protect nothing are refused, with what is wrong with them and how to make better.

Plain functions without Django: settings ask them before anything else is there.
"""

from urllib.parse import unquote, urlsplit

# What the README has in its place: copied as it stands, it's a key that everybody knows.
EXAMPLE_KEY = "replace-this-by-what-the-command-above-prints-0123456789"
SHORTEST = 50
FEWEST_DIFFERENT = 10
MAKE_ONE = 'python3 -c "import secrets; print(secrets.token_urlsafe(50))"'
# Words that stand for a password in examples, ours among them.
EXAMPLE_PASSWORDS = {"password", "secret", "changeme", "postgres", "hookwright", "example"}


def weakness(key: str) -> str | None:
    """What is wrong with a key, or None: short, known to everybody, or of a few characters again
    and again."""
    if key == EXAMPLE_KEY or key.startswith("django-insecure-"):
        return "is the one of an example, which everybody knows"
    if len(key) < SHORTEST:
        return f"has {len(key)} characters of at least {SHORTEST}"
    if key in (key + key)[1:-1]:
        return "is one piece repeated"
    commonest = max(key.count(mark) for mark in set(key))
    if len(set(key)) < FEWEST_DIFFERENT or commonest > len(key) / 4:
        return "is of a few characters again and again"
    return None


def password_weakness(database_url: str) -> str | None:
    """What is wrong with the password in a database's address, or None. None is in it where the
    database knows the site by its account on the machine."""
    parts = urlsplit(database_url)
    if not parts.password:
        return None
    password = unquote(parts.password)
    if password.lower() in EXAMPLE_PASSWORDS:
        return "is the word of an example"
    if password == unquote(parts.username or ""):
        return "is the name of the account"
    return None
