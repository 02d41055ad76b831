"""What makes the orchard page a thing of the phone: the worker that keeps it, its manifest, its icons."""
