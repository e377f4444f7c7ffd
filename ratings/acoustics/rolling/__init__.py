"""What turns with the wheel: cavity lines, pattern orders, and what a coast-down shows."""
