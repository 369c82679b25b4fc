"""What a studio of many parts runs beside, for tests: on loopback, by a user without rights."""
