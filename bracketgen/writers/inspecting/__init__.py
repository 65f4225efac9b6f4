"""Looking through a DXF file from anyone for what spoils the part or gets the file refused."""
