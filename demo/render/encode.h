// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * The picture as a file: JPEG with EXIF and ICC profile, or PNG of 8 or 16 bits with ICC profile.
 */
#ifndef RENDER_ENCODE_H
#define RENDER_ENCODE_H

#include "picture.h"

/// False if the file could not be written; the reason is then in errno.
bool encode_file(const struct scene *scene, const struct picture *picture, const char *path);

#endif
