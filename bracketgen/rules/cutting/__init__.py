"""Rules about what the cutting process can leave standing or cut out."""
