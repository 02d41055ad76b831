"""HTTPS on a farm's own network: a certificate authority of the farm's own, and a certificate for this machine.

Phones give a page its camera and its worker only over HTTPS, and no public authority vouches for a machine in a shed.
So the farm makes an authority, which can vouch for nothing but names and addresses of a network like its own; each
phone is told once to trust it (`/trust/`).
"""
