"""Looking through a DXF file from anyone for what spoils the part or gets it refused, and mending what is safe."""
