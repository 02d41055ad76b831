"""Registers: which there are, what each says of some days, paper of it, and whether paper agrees with the book."""
