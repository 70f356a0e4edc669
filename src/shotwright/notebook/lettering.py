"""How wide a line of lettering is, so that labels get the room they need before anything is drawn."""

from __future__ import annotations

# Advance widths of Open Sans 1.10 Regular, U+0020 to U+007E, 1/2048 em: read from the font's hmtx table.
_EM = 2048
_ASCII = (
    532, 547, 821, 1323, 1171, 1686, 1495, 453, 606, 606, 1130, 1171, 502, 659, 545, 752, 1171, 1171, 1171,
    1171, 1171, 1171, 1171, 1171, 1171, 1171, 545, 545, 1171, 1171, 1171, 879, 1841, 1296, 1327, 1292, 1493,
    1139, 1057, 1491, 1511, 571, 547, 1257, 1063, 1849, 1544, 1595, 1233, 1595, 1266, 1124, 1133, 1491, 1219,
    1896, 1182, 1147, 1169, 674, 752, 674, 1110, 918, 1182, 1139, 1255, 975, 1255, 1149, 694, 1122, 1257, 518,
    518, 1075, 518, 1905, 1257, 1237, 1255, 1255, 836, 977, 723, 1257, 1026, 1593, 1073, 1032, 958, 776, 1128,
    776, 1171,
)  # fmt: skip
_SIGNS = {"°": 877, "–": 1024, "·": 545, "…": 1606, "²": 711}
_OTHER = 1171  # a figure's width: right for signs, close for accented letters
_BROAD = 2048  # scripts written in squares, from U+2E80 on
_BOLD = 1.06  # bold is so much wider over ordinary text, measured on the two fonts' lower-case letters


def width(text: str, size: float, *, bold: bool = False) -> float:
    """Return the width of one line.

    Parameters
    ----------
    text : str
        The line.
    size : float
        Font size. [px]
    bold : bool
        Bold face.

    Returns
    -------
    float
        [px], exact for plain Latin text, close for the rest.

    Examples
    --------
    >>> round(width("12.5 m/s", 10.0), 2)
    40.16
    """
    total = sum(_advance(sign) for sign in text)
    return total / _EM * size * (_BOLD if bold else 1.0)


def _advance(sign: str) -> int:
    code = ord(sign)
    if 32 <= code < 127:
        return _ASCII[code - 32]
    return _SIGNS.get(sign, _BROAD if code >= 0x2E80 else _OTHER)


def fit(text: str, size: float, room: float) -> str:
    """Return `text`, cut with an ellipsis where it would not fit into `room` [px].

    Parameters
    ----------
    text : str
        The line.
    size, room : float
        Font size and available width. [px]

    Returns
    -------
    str
        The line or its beginning.

    Examples
    --------
    >>> fit("behind the long barrier", 10.0, 60.0)
    'behind the…'
    """
    if width(text, size) <= room:
        return text
    kept = text
    while kept and width(kept.rstrip() + "…", size) > room:
        kept = kept[:-1]
    return kept.rstrip() + "…"


def wrap(text: str, size: float, room: float) -> list[str]:
    """Break a text at its spaces into lines that fit into `room` [px]; a single long word is cut.

    Parameters
    ----------
    text : str
        The text.
    size, room : float
        Font size and available width. [px]

    Returns
    -------
    list of str
        The lines, at least one.

    Examples
    --------
    >>> wrap("half of the next shots", 10.0, 60.0)
    ['half of the', 'next shots']
    """
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if width(longer, size) <= room:
            lines[-1] = longer
        elif lines[-1]:
            lines.append(fit(word, size, room))
        else:
            lines[-1] = fit(word, size, room)
    return lines
