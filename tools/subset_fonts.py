#!/usr/bin/env python3
"""Makes the type of the pages (crates/paper/assets/fonts) from the variable fonts as they are published.

    pip install fonttools brotli
    npm install @fontsource-variable/vollkorn@5.3.0 @fontsource-variable/asap@5.3.0
    python3 tools/subset_fonts.py node_modules/@fontsource-variable crates/paper/assets/fonts

Kept are the letters of Western European languages and the signs that the pages use, weights 400 to 600, and figures that
are lining and of one width by themselves, whatever a style sheet says. Both fonts are under the SIL Open Font License 1.1
without reserved names; its text stands beside them.
"""

import pathlib
import sys
import tempfile

from fontTools import subset
from fontTools.ttLib import TTFont
from fontTools.varLib import instancer

FONTS = [
    ("vollkorn", "normal", "vollkorn.woff2", (400, 600)),
    ("vollkorn", "italic", "vollkorn-italic.woff2", 400),
    ("asap", "normal", "asap.woff2", (400, 600)),
    ("asap", "italic", "asap-italic.woff2", 400),
]
SIGNS = "−–—‘’‚“”„•…₀₁₂₃≤≥←↑→↓≈Δ€Œœ‹›′″\u2009\u202f"
FEATURES = ["kern", "liga", "ccmp", "locl", "mark", "mkmk"]


def substitutes(font, feature):
    """Glyphs that a feature puts in place of others, one for one."""
    table = font["GSUB"].table
    found = {}
    for record in table.FeatureList.FeatureRecord:
        if record.FeatureTag != feature:
            continue
        for index in record.Feature.LookupListIndex:
            for sub in table.LookupList.Lookup[index].SubTable:
                found.update(getattr(getattr(sub, "ExtSubTable", sub), "mapping", {}))
    return found


def with_even_figures(font):
    for feature in ("lnum", "tnum"):
        instead = substitutes(font, feature)
        for cmap in font["cmap"].tables:
            for code in range(ord("0"), ord("9") + 1):
                glyph = cmap.cmap.get(code)
                if glyph in instead:
                    cmap.cmap[code] = instead[glyph]


def main(source, target):
    for family, style, name, weights in FONTS:
        font = TTFont(source / family / "files" / f"{family}-latin-wght-{style}.woff2")
        with_even_figures(font)
        instancer.instantiateVariableFont(font, {"wght": weights}, inplace=True)
        font.flavor = None
        with tempfile.NamedTemporaryFile(suffix=".ttf") as plain:
            font.save(plain.name)
            font = TTFont(plain.name)
            if "gvar" in font:
                for glyph in font.getGlyphOrder():
                    font["gvar"].variations.setdefault(glyph, [])
            options = subset.Options(layout_features=FEATURES, hinting=False, notdef_outline=True)
            options.name_IDs = [0, 1, 2, 3, 4, 5, 6, 13, 14]
            letters = subset.Subsetter(options)
            letters.populate(unicodes=[*range(0x20, 0x7F), *range(0xA0, 0x100), *map(ord, SIGNS)])
            letters.subset(font)
            font.flavor = "woff2"
            font.save(target / name)


if __name__ == "__main__":
    main(pathlib.Path(sys.argv[1]), pathlib.Path(sys.argv[2]))
