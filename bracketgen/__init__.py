"""bracketgen: from readings taken on a vehicle to a sheet-metal bracket that bolts up the first time."""

__version__ = "0.1.0"
