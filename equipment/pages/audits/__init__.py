"""Sampling audits: asked for, drawn, answered by scan, closed; the finding in words."""
