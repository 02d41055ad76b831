"""The rules: what each says in plain words, who set it and why, and how the officer changes it."""
