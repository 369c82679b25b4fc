"""Pictures of a term as places for SVG templates: no colours, no words.

Every picture is `WIDTH` units wide and is never drawn narrower than that on a phone held upright, so that
what is written in it at 12.5 units is read at 12 pixels or more.
"""
