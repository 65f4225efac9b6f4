"""Mending a DXF file from anyone into a new one: only what is safe, with how far it strays from the original."""
