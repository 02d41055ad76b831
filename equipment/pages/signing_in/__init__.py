"""The door: by password anywhere, by PIN at a device of the farm; one's own password and PIN; who signs in at all."""
