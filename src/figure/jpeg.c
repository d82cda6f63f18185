// SPDX-License-Identifier: GPL-3.0-or-later
#include "strandline/figure.h"

#include <setjmp.h>
#include <stdio.h> /* jpeglib.h needs it */
#include <stdlib.h>

#include <jpeglib.h>

struct failure {
    struct jpeg_error_mgr manager;
    jmp_buf jump;
};

static void fail(j_common_ptr codec)
{
    struct failure *failure = (struct failure *)(void *)codec->err;
    longjmp(failure->jump, 1);
}

static void ignore(j_common_ptr codec)
{
    (void)codec;
}

sl_code sl_picture_jpeg(const struct sl_picture *picture, int quality, void **ret,
                        size_t *ret_bytes, struct sl_status *status)
{
    struct jpeg_compress_struct codec = {0};
    struct failure failure;
    unsigned char *volatile kept = NULL;
    unsigned char *bytes = NULL;
    unsigned long count = 0;
    codec.err = jpeg_std_error(&failure.manager);
    failure.manager.error_exit = fail;
    failure.manager.output_message = ignore;
    if (setjmp(failure.jump)) { /* libjpeg's only way to report */
        jpeg_destroy_compress(&codec);
        free(kept);
        return sl_status_set(status, SL_E_MEMORY, "figure/jpeg", "Close other programs.",
                             "There is not enough memory for a JPEG of %d x %d pixels.",
                             picture->width, picture->height);
    }
    jpeg_create_compress(&codec);
    jpeg_mem_dest(&codec, &bytes, &count);
    kept = bytes;
    codec.image_width = (JDIMENSION)picture->width;
    codec.image_height = (JDIMENSION)picture->height;
    codec.input_components = 3;
    codec.in_color_space = JCS_RGB;
    jpeg_set_defaults(&codec);
    jpeg_set_quality(&codec, quality, TRUE);
    jpeg_start_compress(&codec, TRUE);
    for (int y = 0; y < picture->height; y++) {
        JSAMPROW row = picture->rgb + (size_t)y * (size_t)picture->width * 3;
        jpeg_write_scanlines(&codec, &row, 1);
    }
    jpeg_finish_compress(&codec);
    jpeg_destroy_compress(&codec);
    *ret = bytes;
    *ret_bytes = count;
    return SL_OK;
}
