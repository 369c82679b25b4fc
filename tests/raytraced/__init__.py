"""Ray-traced photos of round reeds with their truth; shares nothing with tests/simulator but the seed's idea.

A reed here is a solid: staple cone, cork, turns of thread, two blades of elliptic section. World: x to
the right and y up on the card (its top left corner is the origin), z up from the table, mm.
"""
