"""A disease is found in a block: where gear may have taken it, told in words; the case kept, and the pieces flagged."""
