"""What a request was and came to, for those who run the server: one line of the log each, and the meters."""
