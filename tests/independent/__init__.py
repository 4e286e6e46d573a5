"""A second model of layered walls under real weather that shares no line with the engine."""
