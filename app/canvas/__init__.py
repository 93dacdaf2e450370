"""The drawing board of one panel: what it shows, and the tools that change it."""
