// SPDX-License-Identifier: GPL-3.0-or-later
/* JPEG through the libjpeg interface. The one place where libjpeg's jumps are caught.
 *
 * A baseline file is read anew for each look (DCT scaling) and each region (cropped rows): that is
 * cheaper than keeping twelve million pixels. A file in several scans costs a full decode whatever
 * is asked for, so it is decoded once and kept. A file that ends too early is refused: the grey
 * that libjpeg would fill in could pass for dye. */
#include "photo/decoder.h"

#include <math.h>
#include <setjmp.h>
#include <stdio.h> /* jpeglib.h needs it */
#include <stdlib.h>
#include <string.h>

#include <jpeglib.h>

#include <jerror.h> /* needs jpeglib.h */

enum {
    SCANS_MAX = 100,             /* progressive files have about 10 */
    WARNINGS_TOLERATED_MAX = 50, /* harmless ones, such as stray bytes between markers */
    CROP_MARGIN_PX = 16,         /* chroma at a crop's edge lacks its neighbour */
    DCT_DENOM_MAX = 8,
};
/* Coefficients of a file in several scans: 3 to 6 bytes a pixel. */
static const long WORK_BYTES_MAX = 1400L * 1000 * 1000;

struct session {
    struct jpeg_decompress_struct jpeg;
    struct jpeg_error_mgr errors;
    struct jpeg_progress_mgr progress;
    jmp_buf jump;
    struct sl_photo *photo;
    struct sl_status *status;
    sl_code code; /* decided before a jump; 0: judge by libjpeg's message */
    /* what the body works on */
    struct photo_header *header;
    struct sl_rect rect;
    unsigned denom;
    struct sl_image image;
    uint8_t *row;
};

/* jpeg_decompress_struct carries no room of its own for us but this. */
static struct session *session_of(j_common_ptr jpeg)
{
    return jpeg->client_data;
}

static void on_error(j_common_ptr jpeg)
{
    longjmp(session_of(jpeg)->jump, 1);
}

static void on_message(j_common_ptr jpeg, int level)
{
    if (level >= 0)
        return;
    switch (jpeg->err->msg_code) {
    case JWRN_JPEG_EOF:
    case JWRN_HIT_MARKER:
    case JWRN_HUFF_BAD_CODE:
    case JWRN_ARITH_BAD_CODE:
    case JWRN_MUST_RESYNC:
        on_error(jpeg);
        return;
    default:
        if (++jpeg->err->num_warnings > WARNINGS_TOLERATED_MAX)
            on_error(jpeg);
    }
}

static void stay_silent(j_common_ptr jpeg)
{
    (void)jpeg;
}

static sl_code check_scans(const struct session *session)
{
    const struct jpeg_decompress_struct *jpeg = &session->jpeg;
    uint64_t scans = jpeg->input_scan_number > 0 ? (uint64_t)jpeg->input_scan_number : 0;
    if (scans > SCANS_MAX)
        return sl_status_set(session->status, SL_E_TOO_LARGE, "photo/jpeg",
                             "Save the photo again as an ordinary JPEG.",
                             "%s comes in more than %d scans.", session->photo->info.file,
                             SCANS_MAX);
    return photo_check_work(session->photo, scans, scans * jpeg->image_width * jpeg->image_height,
                            session->status);
}

/* Called by libjpeg at each row of blocks that it reads, and at each row of pixels. */
static void on_progress(j_common_ptr jpeg)
{
    struct session *session = session_of(jpeg);
    session->code = check_scans(session);
    if (!session->code)
        session->code = sl_photo_check_cancel(session->photo, session->status);
    if (session->code)
        on_error(jpeg);
}

static sl_code translate(struct session *session)
{
    const struct sl_photo *photo = session->photo;
    char text[JMSG_LENGTH_MAX];
    if (session->code)
        return session->code;
    switch (session->errors.msg_code) {
    case JWRN_JPEG_EOF:
        return photo_truncated(photo, session->status);
    case JERR_OUT_OF_MEMORY:
        return photo_no_memory(photo, session->status);
    case JERR_EMPTY_IMAGE:
        return photo_check_size(photo, 0, 0, session->status);
    case JERR_NO_BACKING_STORE:
        return sl_status_set(session->status, SL_E_TOO_LARGE, "photo/jpeg",
                             "Save the photo again as an ordinary JPEG that is not progressive.",
                             "%s needs more than %ld MB to decode.", photo->info.file,
                             WORK_BYTES_MAX / 1000000);
    case JERR_SOF_UNSUPPORTED:
    case JERR_BAD_PRECISION:
    case JERR_ARITH_NOTIMPL:
        return sl_status_set(session->status, SL_E_FORMAT, "photo/jpeg",
                             "Save the photo again as an ordinary 8-bit JPEG.",
                             "%s is a kind of JPEG that is not read.", photo->info.file);
    default:
        session->errors.format_message((j_common_ptr)&session->jpeg, text);
        return photo_damaged(photo, text, session->status);
    }
}

/* Runs `body` between creation and destruction of the decoder. What changes while it runs lies in
 * the session, out of reach of what a jump may undo. */
static sl_code run(struct session *session, void (*body)(struct session *))
{
    sl_code code = SL_OK;
    session->jpeg.err = jpeg_std_error(&session->errors);
    session->errors.error_exit = on_error;
    session->errors.emit_message = on_message;
    session->errors.output_message = stay_silent;
    session->jpeg.client_data = session;
    if (setjmp(session->jump)) {
        code = translate(session);
    } else {
        jpeg_create_decompress(&session->jpeg);
        session->jpeg.mem->max_memory_to_use = WORK_BYTES_MAX;
        session->progress.progress_monitor = on_progress;
        session->jpeg.progress = &session->progress;
        body(session);
        code = session->code;
    }
    jpeg_destroy_decompress(&session->jpeg);
    free(session->row);
    session->row = NULL;
    if (code)
        sl_image_finish(&session->image);
    return code;
}

static void begin(struct session *session)
{
    jpeg_mem_src(&session->jpeg, session->photo->bytes, (unsigned long)session->photo->count);
    jpeg_read_header(&session->jpeg, TRUE);
}

static bool is_exif(const struct jpeg_marker_struct *marker)
{
    return marker->marker == JPEG_APP0 + 1 && marker->data_length > 6 &&
           memcmp(marker->data, "Exif\0", 6) == 0;
}

static bool is_icc(const struct jpeg_marker_struct *marker)
{
    return marker->marker == JPEG_APP0 + 2 && marker->data_length >= 12 &&
           memcmp(marker->data, "ICC_PROFILE", 12) == 0;
}

static void take_markers(struct session *session)
{
    struct photo_header *header = session->header;
    bool icc = false;
    JOCTET *profile = NULL;
    unsigned profile_bytes = 0;
    for (const struct jpeg_marker_struct *m = session->jpeg.marker_list; m; m = m->next) {
        icc = icc || is_icc(m);
        if (is_exif(m) && !header->exif) {
            header->exif_bytes = m->data_length - 6;
            header->exif = bytes_copy(m->data + 6, header->exif_bytes);
            header->exif_damaged = !header->exif;
        }
    }
    if (jpeg_read_icc_profile(&session->jpeg, &profile, &profile_bytes)) {
        header->icc = profile;
        header->icc_bytes = profile_bytes;
    }
    header->icc_damaged = icc && !header->icc;
}

/* The coefficient of an even block is eight times its level (ITU-T T.81, A.3.3). */
static double chroma_step(const struct jpeg_decompress_struct *jpeg)
{
    if (jpeg->jpeg_color_space != JCS_YCbCr)
        return 0;
    double most = 0;
    for (int c = 1; c < jpeg->num_components; c++) {
        int table = jpeg->comp_info[c].quant_tbl_no;
        if (table >= 0 && table < NUM_QUANT_TBLS && jpeg->quant_tbl_ptrs[table])
            most = fmax(most, jpeg->quant_tbl_ptrs[table]->quantval[0] / 8.0);
    }
    return most;
}

static void read_header_body(struct session *session)
{
    struct photo_header *header = session->header;
    jpeg_save_markers(&session->jpeg, JPEG_APP0 + 1, 0xFFFF);
    jpeg_save_markers(&session->jpeg, JPEG_APP0 + 2, 0xFFFF);
    begin(session);
    header->width = session->jpeg.image_width;
    header->height = session->jpeg.image_height;
    header->bits = 8;
    header->grey = session->jpeg.jpeg_color_space == JCS_GRAYSCALE;
    session->photo->info.chroma_step = chroma_step(&session->jpeg);
    session->photo->multi_scan = jpeg_has_multiple_scans(&session->jpeg);
    if (session->jpeg.num_components != 1 && session->jpeg.num_components != 3) {
        session->code = sl_status_set(
            session->status, SL_E_COLOUR_MODEL, "photo/jpeg", "Export the photo as RGB.",
            "%s is in %s; only RGB and grey are read.", session->photo->info.file,
            session->jpeg.num_components == 4 ? "CMYK print colours" : "another colour model");
        return;
    }
    take_markers(session);
}

static sl_code jpeg_read_all_headers(struct sl_photo *photo, struct photo_header *ret,
                                     struct sl_status *status)
{
    struct session session = {.photo = photo, .status = status, .header = ret};
    return run(&session, read_header_body);
}

static bool session_alloc(struct session *session, int width, int height)
{
    if (image_alloc(&session->image, width, height, 8, 3))
        return true;
    session->code = photo_no_memory(session->photo, session->status);
    return false;
}

static void decode_body(struct session *session)
{
    j_decompress_ptr jpeg = &session->jpeg;
    begin(session);
    jpeg->out_color_space = JCS_RGB;
    jpeg->scale_num = 1;
    jpeg->scale_denom = session->denom;
    jpeg_start_decompress(jpeg);
    if (!session_alloc(session, (int)jpeg->output_width, (int)jpeg->output_height))
        return;
    while (jpeg->output_scanline < jpeg->output_height) {
        JSAMPROW row = image_row(&session->image, (int)jpeg->output_scanline);
        jpeg_read_scanlines(jpeg, &row, 1);
    }
    jpeg_finish_decompress(jpeg); /* reads to the end: a missing end is found here */
    session->image.scale = session->denom;
}

static sl_code jpeg_decode(struct sl_photo *photo, struct sl_image *ret, struct sl_status *status)
{
    struct session session = {.photo = photo, .status = status, .denom = 1};
    sl_code code = run(&session, decode_body);
    if (!code)
        *ret = session.image;
    return code;
}

static sl_code reduce_further(struct session *session, int factor)
{
    struct sl_image small = {0};
    sl_code code = image_reduce(session->photo, &session->image, factor, &small, session->status);
    sl_image_finish(&session->image);
    session->image = small;
    return code;
}

static sl_code jpeg_look(struct sl_photo *photo, int side_px, struct sl_image *ret,
                         struct sl_status *status)
{
    struct session session = {.photo = photo, .status = status, .denom = DCT_DENOM_MAX};
    if (photo->multi_scan)
        return SL_OK;
    int longer =
        photo->stored.width > photo->stored.height ? photo->stored.width : photo->stored.height;
    while (session.denom > 1 && longer / (int)session.denom < side_px)
        session.denom /= 2;
    sl_code code = run(&session, decode_body);
    int factor = longer / (int)session.denom / side_px;
    if (!code && factor > 1)
        code = reduce_further(&session, factor);
    if (!code)
        *ret = session.image;
    return code;
}

static void region_body(struct session *session)
{
    j_decompress_ptr jpeg = &session->jpeg;
    struct sl_rect rect = session->rect;
    begin(session);
    jpeg->out_color_space = JCS_RGB;
    jpeg_start_decompress(jpeg);
    int left = rect.x > CROP_MARGIN_PX ? rect.x - CROP_MARGIN_PX : 0;
    int right = rect.x + rect.width + CROP_MARGIN_PX;
    if (right > (int)jpeg->output_width)
        right = (int)jpeg->output_width;
    JDIMENSION x = (JDIMENSION)left, width = (JDIMENSION)(right - left);
    jpeg_crop_scanline(jpeg, &x, &width); /* moves x left and widens to whole blocks */
    session->row = malloc((size_t)jpeg->output_width * 3);
    if (!session_alloc(session, rect.width, rect.height))
        return;
    if (!session->row) {
        session->code = photo_no_memory(session->photo, session->status);
        return;
    }
    if (rect.y > 0)
        jpeg_skip_scanlines(jpeg, (JDIMENSION)rect.y);
    for (int y = 0; y < rect.height; y++) {
        jpeg_read_scanlines(jpeg, &session->row, 1);
        memcpy(image_row(&session->image, y), session->row + (rect.x - (int)x) * 3,
               session->image.stride);
    }
    session->image.x0 = rect.x;
    session->image.y0 = rect.y;
}

static sl_code jpeg_region(struct sl_photo *photo, struct sl_rect rect, struct sl_image *ret,
                           struct sl_status *status)
{
    struct session session = {.photo = photo, .status = status, .rect = rect};
    if (photo->multi_scan)
        return SL_OK;
    sl_code code = run(&session, region_body);
    if (!code)
        *ret = session.image;
    return code;
}

static bool jpeg_matches(const uint8_t *bytes, size_t count)
{
    return count >= 3 && bytes[0] == 0xFF && bytes[1] == 0xD8 && bytes[2] == 0xFF;
}

const struct photo_decoder jpeg_decoder = {
    .format = "JPEG",
    .matches = jpeg_matches,
    .read_header = jpeg_read_all_headers,
    .decode = jpeg_decode,
    .look = jpeg_look,
    .region = jpeg_region,
};
