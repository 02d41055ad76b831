"""Which browser this is, and the office's page about the phones."""
