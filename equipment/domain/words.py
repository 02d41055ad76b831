"""Marks words for translation without importing Django; the edges translate them."""


def gettext_noop(message: str) -> str:
    return message
