"""What a tablet may say: one file per kind of action, each with what it calls.

A handler gets a :class:`~maintenance.actions.context.Said` and calls the service of the room it
concerns. It raises ``Held`` (or lets a ``Refused`` or ``Unknown`` of a service pass) when a person
must look at it; the raw action is kept all the same.
"""
