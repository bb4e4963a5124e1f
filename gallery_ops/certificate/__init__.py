"""The gallery's own certificate, with which tablets reach it by https in a network of its own.

`names` says which name it may be for, `authority` makes it (pure), `kept` keeps it in a folder
that only its owner reads and renews it, `door` gives its public part to tablets that do not trust
it yet.
`names` needs nothing but Python: deploy/start asks it before anything is installed.
"""
