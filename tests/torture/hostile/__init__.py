"""Files that somebody with bad intent could send, made from seeds, and the door they go through.

`whole` makes what phones make, `damage` breaks it, `bombs_of_sound` and `bombs_of_pictures` build what no
phone makes; `door` hands each to the children that open what people sent and says how it ended and what it
cost.
"""
