"""Sums: values in, an answer out, nothing written down. One module for each of them."""
