// SPDX-License-Identifier: GPL-3.0-or-later
/*
 * Reads a scene from its text description.
 *
 * Lines are "key = value"; a line "[section]" begins a section; "#" begins a comment; blank lines
 * are free. Sections: scene (once), dye, ink, part (a dye of the ink above), paper, strip, object.
 * Every key is named in describe.c with its limits; what is unknown, doubled in a section or out of
 * range is an error that names file and line. Colours are three numbers of linear light, 0 to 1.
 */
#ifndef RENDER_DESCRIBE_H
#define RENDER_DESCRIBE_H

#include "scene.h"

/// On failure writes one sentence with file and line into ret_error.
bool describe_read(const char *path, struct scene *ret_scene, char *ret_error, int error_size);

#endif
