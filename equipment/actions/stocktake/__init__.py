"""Stocktakes: begun, scanned by several people at once, settled, ended."""
