"""An invented studio with invented people, to look around in; it never leaves the demo."""
