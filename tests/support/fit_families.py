"""Fit the table of colour families that ``scrapstore/colour/family_table.py`` carries.

Run it by hand (``python -m tests.support.fit_families``) and it prints the table; a test refits and
compares. The model is a multinomial logistic regression on the colour and its squares and
products, so every border between two families is one smooth quadric in CIELAB. It is fitted on

- the part of the xkcd survey's names that is not held out (`tests.support.colour_names`), and
- anchors, each with 0.3 of a name's weight, where the survey has hardly a name with one basic word
  in it: two of white, two of black, and no beige, teal, wine or peach. They say what a person
  holding the cloth says. Near the grey axis a colour is black below L* 20, grey from 32 to 82,
  white above 92 (white cotton in a photo is often no brighter than 88, and must not turn grey). A
  light, weak yellow is cream, which belongs with white. Pale tints keep their family down to a
  chroma of 7, dull colours to about 14: beige is a brown, dusty rose a pink. Half of the people
  call teal green and half blue, peach orange or pink. Wine is a red. These are judgements of
  cloth, not measurements; they cost about three in a thousand of the agreement with the survey
  (five-fold cross-validation on the fitted part: 94.8 % without the dull colours, 94.5 % with).
"""

import warnings

import numpy as np
import numpy.typing as npt

from scrapstore.colour import FAMILIES, srgb_to_lab
from scrapstore.colour.families import terms
from tests.support.colour_names import held_out, survey

ANCHOR_WEIGHT = 0.3
# From 10 to 1000 five-fold cross-validation on the fitted part stays within half a percent; of
# these 10 has the smoothest borders.
INVERSE_PENALTY = 10.0

Rows = list[tuple[float, float, float]]


def _ring(
    lightness: float, chroma: float, hues: tuple[int, ...] = tuple(range(0, 360, 45))
) -> Rows:
    turns = np.radians(hues)
    return [(lightness, chroma * float(np.cos(t)), chroma * float(np.sin(t))) for t in turns]


def anchors() -> tuple[npt.NDArray[np.float64], list[str]]:
    """Return CIELAB colours (n, 3) and the family each is said to be."""
    said: list[tuple[str, Rows]] = []
    said += [("black", _ring(lightness, 2 if lightness else 0)) for lightness in (0, 6, 12, 18)]
    said += [("grey", _ring(lightness, 2)) for lightness in (32, 45, 60, 72, 82)]
    said += [
        ("white", _ring(lightness, 2 if lightness < 100 else 0)) for lightness in (92, 95, 100)
    ]
    for lightness, chroma in ((90, 9), (94, 6), (94, 12), (97, 8), (97, 12)):
        said.append(("white", _ring(lightness, chroma, (75, 85, 95))))
    for lightness, chroma in ((14, 10), (22, 12), (32, 16), (45, 20), (60, 22)):
        said += [(word, _ring(lightness, chroma, (190, 205))) for word in ("green", "blue")]
    for lightness, chroma in ((88, 10), (91, 8), (93, 7)):
        said.append(("pink", _ring(lightness, chroma, (0, 15, 30))))
        said.append(("purple", _ring(lightness, chroma, (305,))))
        said.append(("blue", _ring(lightness, chroma, (250,))))
        said.append(("green", _ring(lightness, chroma, (150,))))
    said += _dull_colours()
    return (
        np.array([row for _, rows in said for row in rows], dtype=np.float64),
        [word for word, rows in said for _ in rows],
    )


def _dull_colours() -> list[tuple[str, Rows]]:
    said: list[tuple[str, Rows]] = []
    for lightness in (45, 60, 75):
        said.append(("green", _ring(lightness, 14, (125, 150))))
        said.append(("blue", _ring(lightness, 14, (245, 270))))
        said.append(("purple", _ring(lightness, 14, (310,))))
        said.append(("brown", _ring(lightness, 16, (70, 85))))
    said += [("pink", _ring(lightness, 14, (0, 20))) for lightness in (65, 78)]
    said += [("brown", _ring(lightness, 17, (78, 88))) for lightness in (80, 84)]
    said += [("white", _ring(lightness, 10, (75, 85, 95))) for lightness in (82, 86)]
    said += [("green", _ring(lightness, 16, (145, 160))) for lightness in (84, 88)]
    for lightness, chroma in ((20, 26), (26, 32), (30, 36)):
        said.append(("red", _ring(lightness, chroma, (8, 20))))
    for lightness, chroma in ((82, 28), (86, 24)):
        said += [(word, _ring(lightness, chroma, (60, 68))) for word in ("orange", "pink")]
    return said


def fit() -> npt.NDArray[np.float64]:
    """Return the table, shape (families in the order of FAMILIES, 10 terms)."""
    from sklearn.linear_model import LogisticRegression

    named = [colour for colour in survey() if not held_out(colour)]
    extra, words = anchors()
    lab = np.concatenate([srgb_to_lab([colour.rgb for colour in named]), extra])
    said = [colour.word for colour in named] + words
    weight = np.concatenate([np.ones(len(named)), np.full(len(words), ANCHOR_WEIGHT)])
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        model = LogisticRegression(C=INVERSE_PENALTY, max_iter=20_000, tol=1e-8)
        model.fit(terms(lab)[:, 1:], said, sample_weight=weight)
    table = np.concatenate([model.intercept_[:, None], model.coef_], axis=1)
    order = [list(model.classes_).index(name) for name in FAMILIES]
    return np.asarray(table[order], dtype=np.float64)


if __name__ == "__main__":
    for name, row in zip(FAMILIES, fit(), strict=True):
        print(f'    "{name}": ({", ".join(f"{value:.2f}" for value in row)}),')
