"""What cannot be taken or done, in one family.

Pure code refuses what it is given, actions refuse what they are asked to do; either way a person reads one
sentence that says why and what to do.

- Refused (ValueError)            what was given cannot be used; `reeds.wording.say` tells it to the reader
  - NumberQuestion                a typed number, perhaps with what was meant
  - NotANoteError                 a word that names no note
  - SheetError                    a row or a whole of a measuring sheet
  - PlayingItemError              an item of a playing test
  - PhotoRefused                  a photo that gives no honest figure
    - PhotoCutShort               one whose file is not whole
  - UnreadableTakeError           a file that is no recording
  - MarkRefused                   a mark on a photo or a recording
- NotPossible (studio.errors)     what was asked for cannot be done; its text is told as it is
  - ChangedMeanwhile              somebody saved a version of the measuring sheet meanwhile
  - SentMeanwhile                 the round was sent meanwhile
"""

from __future__ import annotations

from reeds.numbers.words import said


class Refused(ValueError):
    """Something given that cannot be used; its text is the sentence in English.

    Attributes
    ----------
    sentence : str
        A marked sentence with named places.
    params : dict
        What fills the places; keys ending in ``name`` or ``label`` are marked words too (see `words.said`).
    """

    def __init__(self, sentence: str, /, **params: object) -> None:
        super().__init__(said(sentence, params) if params else sentence)
        self.sentence, self.params = sentence, params
