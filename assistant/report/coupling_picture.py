"""The parts of a split clamp coupling as a labelled picture: along the pipe, and in front of one clamp flange.

Not to scale and of no maker: our own part names (common practice, no source), as the procedure speaks of them.
"""

from __future__ import annotations

_INK = 'stroke="#222" stroke-width="1.5"'
_METAL, _SEAL, _BOLT = f'fill="#ddd" {_INK}', f'fill="#777" {_INK}', f'fill="#fff" {_INK}'
_SIZE = (760, 300)
_LABELS = (
    # text, its place, what it points at; the text ends there where it is left of the part
    ("pipe", (40, 172), (60, 142)),
    ("clamp flange", (20, 40), (120, 84)),
    ("joint bolt", (200, 40), (215, 90)),
    ("seal (tapered: thin end to the flange)", (20, 284), (172, 221)),
    ("centring ring", (262, 172), (246, 121)),
    ("stop pin", (262, 196), (222, 140)),
    ("split bolt", (640, 40), (622, 66)),
    ("split, at the top", (640, 80), (575, 88)),
    ("bridge piece", (640, 108), (596, 108)),
    ("clamp flange", (676, 236), (650, 215)),
    ("pipe", (560, 172), None),
)


def coupling_svg() -> str:
    """An SVG picture, black on white, readable when printed."""
    width, height = _SIZE
    parts = [*_along(), *_in_front(), *(_label(*each) for each in _LABELS)]
    parts.append('<text x="20" y="16" font-weight="bold">Along the pipe</text>')
    parts.append('<text x="480" y="16" font-weight="bold">In front of a flange</text>')
    head = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" role="img"'
    return f'{head} aria-label="Parts of the coupling" font-family="sans-serif" font-size="12">{"".join(parts)}</svg>'


def _rect(x: int, y: int, width: int, height: int, style: str) -> str:
    return f'<rect x="{x}" y="{y}" width="{width}" height="{height}" {style}/>'


def _along() -> list[str]:
    """Both pipe ends with their flanges and seals, the centring ring between them, joint bolts through both flanges."""
    found = []
    for wall, ring, pin, flange, bolt in ((130, 114, 128, 72, 88), (200, 216, 200, 214, 254)):
        found += [_rect(20, wall, 192, 12, _METAL), _rect(228, wall, 192, 12, _METAL)]
        found += [_rect(192, ring, 56, 12, _METAL), _rect(217, pin, 6, 14, _SEAL)]
        found += [_rect(x, flange, 28, 56, _METAL) for x in (110, 302)]
        found.append(_rect(92, bolt, 256, 6, _BOLT))
        found += [_rect(x, bolt - 5, 14, 16, _BOLT) for x in (92, 334)]
    for top, edge in ((128, 114), (214, 228)):  # tapered: thin end toward the flange
        found += [f'<polygon points="{a},{top} {b},{top} {b},{edge}" {_SEAL}/>' for a, b in ((142, 188), (298, 252))]
    return found


def _in_front() -> list[str]:
    """One clamp flange round its pipe: its split at the top, the split bolt across it, the bridge piece below."""
    ring = f'<circle cx="575" cy="180" r="92" {_METAL}/><circle cx="575" cy="180" r="68" {_SEAL}/>'
    pipe = f'<circle cx="575" cy="180" r="58" {_BOLT}/>'
    gap = '<rect x="567" y="78" width="16" height="34" fill="#fff"/>'
    lugs = _rect(540, 50, 27, 46, _METAL) + _rect(583, 50, 27, 46, _METAL)
    bolt = _rect(520, 62, 110, 8, _BOLT) + _rect(520, 56, 14, 20, _BOLT) + _rect(616, 56, 14, 20, _BOLT)
    return [ring, pipe, gap, lugs, bolt, _rect(555, 104, 40, 8, _BOLT)]


def _label(text: str, place: tuple[int, int], at: tuple[int, int] | None) -> str:
    x, y = place
    line = ""
    if at is not None:
        beside = at[0] < x
        begins = (x - 4, y - 4) if beside else (x + 3 * len(text), y + 4 if at[1] > y else y - 12)
        line = f'<line x1="{begins[0]}" y1="{begins[1]}" x2="{at[0]}" y2="{at[1]}" stroke="#222" stroke-width=".8"/>'
    return f'{line}<text x="{x}" y="{y}">{text}</text>'
