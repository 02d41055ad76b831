"""Paper: labels, badges, registers and slips as vectors. Rows come in as frozen dataclasses, PDF bytes go out."""
