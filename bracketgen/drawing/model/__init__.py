"""The folded part as exact faces and as meshes."""
