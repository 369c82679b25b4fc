"""The checks of a reed: plain numbers and a measuring sheet in, findings out; no database, no clock.

Conventions of the package: numbers are in the unit of their quantity and carry their standard uncertainty
(k = 1); nothing is called a fault unless that is 95 % probable (`conformity`); a sentence is marked English
with its places open, and numbers are rounded only there; left and right are the player's, marked blade up.

A check is a module with KEY, NAME, SOURCE and `check(facts, sheet)`, and ROWS where it looks at rows of the
sheet itself; what several of them need lies in
`comparing` and `next_steps`. None changes what it is given.
"""
