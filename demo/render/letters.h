// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * A small alphabet of pen strokes: digits, capital letters, . - + and /.
 * A glyph is a row of points "xy" (x 0 to 4, y 0 to 6, y up); a blank lifts the pen.
 */
#ifndef RENDER_LETTERS_H
#define RENDER_LETTERS_H

enum { LETTER_HEIGHT = 6, LETTER_STEP = 6 };

/// Never NULL; unknown characters are blank, small letters are drawn as capitals.
const char *letter_strokes(char letter);

#endif
