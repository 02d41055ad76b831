"""The words that a person reads: gathered from code, templates and catalogue, and kept in a message file a language.

The files are gettext's (.po, and .mo made of it). Babel reads and writes them: gettext's own programs are not needed.
"""
