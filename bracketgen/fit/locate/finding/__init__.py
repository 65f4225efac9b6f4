"""From readings to the positions that fit them best, and every other set of positions that fits as well."""
