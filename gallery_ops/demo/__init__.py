"""Undershore, an invented gallery: ninety days of believable history by the services of real use.

``generator.load`` makes it for a day; ``mishaps`` are the three things that are wrong in it, which
the program has to find by rules of its own. Everything is drawn from one seed: the same day gives
the same gallery.
"""
