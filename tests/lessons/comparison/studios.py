"""Invented studios for comparisons: what a student is like, and whether the factor does anything."""

import numpy as np

from lessons.comparison.inference.strata import Case


def null_studio(seed, students=4, reeds=18):
    """Good students rest long and play well, and rest does nothing: cases of rest and of coming to play.

    Three thirds of the term, in the last of which everybody both rests longer and plays better.
    """
    random = np.random.default_rng([7, seed])
    cases = []
    for student in range(students):
        good = random.normal(0, 2)
        for reed in range(reeds):
            third = reed * 3 // reeds
            rests_long = random.random() < _logistic(1.5 * good + third - 1)
            plays = random.random() < _logistic(good + third - 1)
            cases.append(Case((student, third), "long" if rests_long else "short", float(plays)))
    return cases


def graded_null_studio(seed, students=4, reeds=18):
    """The same with days of rest and a rating from 1 to 5."""
    random = np.random.default_rng([8, seed])
    cases = []
    for student in range(students):
        good = random.normal(0, 2)
        for reed in range(reeds):
            third = reed * 3 // reeds
            days = np.exp(1.5 + good / 2 + third / 2 + random.normal())
            rating = np.clip(np.round(3 + good / 2 + third / 2 + random.normal(0, 0.8)), 1, 5)
            cases.append(Case((student, third), float(days), float(rating)))
    return cases


def helped_studio(seed, students=4, reeds=18, helps=0.4):
    """Half of each student's reeds rest long, drawn by lot, and come to play that much more often."""
    random = np.random.default_rng([9, seed])
    cases = []
    for student in range(students):
        base = random.uniform(0.15, 0.85 - helps) if helps < 0.7 else 0.1
        for reed in range(reeds):
            rests_long = reed % 2 == 0
            plays = random.random() < base + helps * rests_long
            cases.append(Case((student, reed * 3 // reeds), "long" if rests_long else "short", float(plays)))
    return cases


def _logistic(x):
    return 1 / (1 + np.exp(-x))
