"""Everything that takes input, sent what nobody should send.

`odd` has the values, `targets` finds what each address takes, `judged` says what an answer may be.
"""
