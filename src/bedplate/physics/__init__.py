"""Pure numbers: SI in, SI out. What the parts do under load, heat and speed.

Nothing here knows an engine file, a record or a shop. Every function names its source and the
range in which it holds, and refuses what lies outside.
"""
