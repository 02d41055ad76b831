"""The disease trace: where gear may have taken a disease, the case that is kept of it, and the list for recall."""
