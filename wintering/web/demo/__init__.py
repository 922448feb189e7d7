"""The invented winter: its people and trees, its weather, and how it is loaded."""
