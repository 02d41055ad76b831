"""Calibrating a scanner: a page to print, and a page that says what arrives of it."""
