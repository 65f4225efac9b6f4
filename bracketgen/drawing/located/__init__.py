"""The picture of located holes: a plan of each face, and the whole site."""
