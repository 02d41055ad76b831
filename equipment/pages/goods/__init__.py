"""Counted goods: what lies in a store, and what is done with it."""
