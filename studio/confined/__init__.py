"""What a person sent is opened in a process of its own, with limits: if it breaks, only that process does.

`pool` is what the worker calls; it keeps children ready (`child`), which shut themselves in (`kernel`) before
they read the first byte, and talks to them over a pipe (`wire`).
"""
