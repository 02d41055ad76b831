"""To settle: what the book says twice, and what it could not take, each with what can be done about it."""
