"""The one way in which a photo is turned down: an error that carries a sentence saying what to do."""

from __future__ import annotations


class PhotoRefused(ValueError):
    """A photo from which no honest figure can be had.

    Attributes
    ----------
    sentence : str
        One English sentence for the person, marked for translation where it is written, with its
        `%(name)s` places still open.
    values : dict
        What fills the places, so that the page can translate first and fill in afterwards.
    """

    def __init__(self, sentence: str, **values: object) -> None:
        self.sentence = sentence
        self.values = values
        super().__init__(sentence % values if values else sentence)
