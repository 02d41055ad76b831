"""A sampling audit: drawn, answered by several people, closed."""
