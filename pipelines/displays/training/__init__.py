"""How the display reader is taught: drawn gauges, drawn scenes, and the script that trains the networks.

Nothing here runs when a photo is read; the reader uses only the weights that came out of it.
"""
