// SPDX-License-Identifier: GPL-3.0-or-later
/* HEIC through libheif. Turning and cropping is done by the file's own transforms; EXIF's
 * orientation only repeats them and is ignored. An nclx colour description becomes a profile of
 * our own making. Images deeper than 8 bits are scaled to 16.
 *
 * A picture can be made of others (a camera's grid of tiles, an overlay), and of one of them over
 * and over. libheif tells nothing of these and can't be stopped, but it asks for the bytes of each
 * when its turn comes: there the work is bounded, and a cancelled photo ends. */
#include "photo/decoder.h"

#include <libheif/heif.h>
#include <stdlib.h>
#include <string.h>

enum {
    FTYP_BYTES = 12,       /* size, "ftyp" and the brand */
    EXIF_OFFSET_BYTES = 4, /* before an EXIF block: where its TIFF header begins */
    TURNS_MAX = 2,         /* each byte of the file is needed once */
    TILE_PX_MIN = 64,      /* cameras write tiles of 512 px */
    TILES_SPARE = 64,      /* at the edges, and of what lies beside the picture */
};

struct session {
    const struct sl_photo *photo;
    struct sl_status *status;
    struct heif_context *context;
    struct heif_image_handle *handle;
    struct heif_image *image;
    size_t at; /* where in the file */
    /* of what is read for pixels, not for the header */
    bool decoding;
    uint64_t read_bytes, reads;
    sl_code code; /* why reading was stopped; 0: it was not */
};

static int64_t on_position(void *context)
{
    const struct session *session = context;
    return (int64_t)session->at;
}

static sl_code check_turn(struct session *session, size_t count)
{
    const struct sl_photo *photo = session->photo;
    uint64_t pixels = (uint64_t)photo->stored.width * (uint64_t)photo->stored.height;
    session->read_bytes += count;
    session->reads++;
    if (session->read_bytes > TURNS_MAX * (uint64_t)photo->count ||
        session->reads > pixels / (TILE_PX_MIN * TILE_PX_MIN) + TILES_SPARE)
        return sl_status_set(
            session->status, SL_E_TOO_LARGE, "photo/heic", "Save the photo again as JPEG.",
            "%s is made of too many pictures, or of one over and over.", photo->info.file);
    return sl_photo_check_cancel(photo, session->status);
}

/* Called for one tile after the other, also where threads decode several at once. libheif takes it
 * for its own mistake that a read fails within the file (an assertion): what is stopped is given
 * lengths that no tile can have, and refuses them. */
static int on_read(void *to, size_t count, void *context)
{
    struct session *session = context;
    if (count > session->photo->count - session->at)
        return 1;
    if (session->decoding && !session->code)
        session->code = check_turn(session, count);
    if (session->code)
        memset(to, 0xFF, count);
    else
        memcpy(to, session->photo->bytes + session->at, count);
    session->at += count;
    return 0;
}

static int on_seek(int64_t position, void *context)
{
    struct session *session = context;
    if (position < 0 || (uint64_t)position > session->photo->count)
        return 1;
    session->at = (size_t)position;
    return 0;
}

static enum heif_reader_grow_status on_wait(int64_t size, void *context)
{
    const struct session *session = context;
    return size < 0 || (uint64_t)size > session->photo->count
               ? heif_reader_grow_status_size_beyond_eof
               : heif_reader_grow_status_size_reached;
}

static const struct heif_reader reader = {
    .reader_api_version = 1,
    .get_position = on_position,
    .read = on_read,
    .seek = on_seek,
    .wait_for_file_size = on_wait,
};

static void session_finish(struct session *session)
{
    heif_image_release(session->image);
    heif_image_handle_release(session->handle);
    heif_context_free(session->context);
}

static uint32_t big_endian_32(const uint8_t *bytes)
{
    return (uint32_t)bytes[0] << 24 | (uint32_t)bytes[1] << 16 | (uint32_t)bytes[2] << 8 | bytes[3];
}

/* Whether the file's boxes (ISO/IEC 14496-12, 4.2: size, type) go on beyond its end. libheif
 * decodes what there is of some cut files, and gives no clear sign for others. */
static bool ends_early(const struct sl_photo *photo)
{
    uint64_t at = 0;
    while (at + 8 <= photo->count) {
        const uint8_t *box = photo->bytes + at;
        uint64_t size = big_endian_32(box);
        if (size == 0) /* up to the end of the file */
            return false;
        if (size == 1 && at + 16 <= photo->count)
            size = (uint64_t)big_endian_32(box + 8) << 32 | big_endian_32(box + 12);
        if (size < 8) /* broken, not cut */
            return size == 1;
        if (size > photo->count - at)
            return true;
        at += size;
    }
    return at != photo->count;
}

static sl_code translate(const struct session *session, struct heif_error error)
{
    const struct sl_photo *photo = session->photo;
    if (session->code)
        return session->code;
    if (error.subcode == heif_suberror_End_of_data ||
        error.subcode == heif_suberror_No_meta_box || /* cut right behind the first box */
        ends_early(photo))
        return photo_truncated(photo, session->status);
    if (error.code == heif_error_Memory_allocation_error)
        return error.subcode == heif_suberror_Security_limit_exceeded
                   ? photo_check_size(photo, UINT32_MAX, UINT32_MAX, session->status)
                   : photo_no_memory(photo, session->status);
    if (error.code == heif_error_Unsupported_filetype ||
        error.code == heif_error_Unsupported_feature)
        return sl_status_set(session->status, SL_E_FORMAT, "photo/heic", "Save the photo as JPEG.",
                             "%s is a kind of HEIC that is not read.", photo->info.file);
    return photo_damaged(photo, error.message ? error.message : "unreadable", session->status);
}

static sl_code session_begin(struct session *session)
{
    const struct sl_photo *photo = session->photo;
    if (ends_early(photo))
        return photo_truncated(photo, session->status);
    session->context = heif_context_alloc();
    if (!session->context)
        return photo_no_memory(photo, session->status);
    heif_context_set_maximum_image_size_limit(session->context, SL_PHOTO_SIDE_MAX);
    struct heif_error error =
        heif_context_read_from_reader(session->context, &reader, session, NULL);
    if (error.code == heif_error_Ok)
        error = heif_context_get_primary_image_handle(session->context, &session->handle);
    return error.code == heif_error_Ok ? SL_OK : translate(session, error);
}

static void take_icc(const struct session *session, struct photo_header *header)
{
    size_t count = heif_image_handle_get_raw_color_profile_size(session->handle);
    uint8_t *icc = count > 0 && count <= SL_ICC_BYTES_MAX ? malloc(count) : NULL;
    if (icc &&
        heif_image_handle_get_raw_color_profile(session->handle, icc).code == heif_error_Ok) {
        header->icc = icc;
        header->icc_bytes = count;
    } else {
        free(icc);
        header->icc_damaged = true;
    }
}

/* Code points of ITU-T H.273; false: not known here, or left open by the file. */
static bool transfer_of(int code_point, struct colour_encoding *encoding)
{
    switch (code_point) {
    case heif_transfer_characteristic_ITU_R_BT_709_5:
    case heif_transfer_characteristic_ITU_R_BT_601_6:
    case heif_transfer_characteristic_ITU_R_BT_2020_2_10bit:
    case heif_transfer_characteristic_ITU_R_BT_2020_2_12bit:
        encoding->transfer = TRANSFER_BT709;
        return true;
    case heif_transfer_characteristic_IEC_61966_2_1:
        encoding->transfer = TRANSFER_SRGB;
        return true;
    case heif_transfer_characteristic_ITU_R_BT_470_6_System_M:
    case heif_transfer_characteristic_ITU_R_BT_470_6_System_B_G:
    case heif_transfer_characteristic_linear:
        encoding->transfer = TRANSFER_GAMMA;
        encoding->gamma = code_point == heif_transfer_characteristic_linear ? 1
                          : code_point == heif_transfer_characteristic_ITU_R_BT_470_6_System_M
                              ? 2.2
                              : 2.8;
        return true;
    default:
        return false;
    }
}

static bool is_hdr(int transfer)
{
    return transfer == heif_transfer_characteristic_ITU_R_BT_2100_0_PQ ||
           transfer == heif_transfer_characteristic_ITU_R_BT_2100_0_HLG;
}

static const char *primaries_name(int code_point)
{
    switch (code_point) {
    case heif_color_primaries_ITU_R_BT_709_5:
        return "sRGB primaries (nclx)";
    case heif_color_primaries_SMPTE_EG_432_1:
        return "Display P3 (nclx)";
    case heif_color_primaries_ITU_R_BT_2020_2_and_2100_0:
        return "BT.2020 (nclx)";
    default:
        return "nclx";
    }
}

/* What the file leaves open is sRGB's, as with any photo that says nothing. */
static void take_figures(const struct heif_color_profile_nclx *nclx, struct photo_header *header)
{
    struct colour_encoding e = colour_encoding_srgb;
    bool known_transfer = transfer_of((int)nclx->transfer_characteristics, &e);
    bool known_primaries = nclx->color_primaries != heif_color_primaries_unspecified &&
                           nclx->color_primary_white_y > 0;
    if (!known_transfer && !known_primaries)
        return;
    if (known_primaries) {
        const float p[4][2] = {{nclx->color_primary_red_x, nclx->color_primary_red_y},
                               {nclx->color_primary_green_x, nclx->color_primary_green_y},
                               {nclx->color_primary_blue_x, nclx->color_primary_blue_y},
                               {nclx->color_primary_white_x, nclx->color_primary_white_y}};
        for (int i = 0; i < 2; i++) {
            for (int k = 0; k < 3; k++)
                e.primaries_xy[k][i] = (double)p[k][i];
            e.white_xy[i] = (double)p[3][i];
        }
    }
    e.name = primaries_name((int)nclx->color_primaries);
    header->encoding = e;
    header->encoded = true;
}

static sl_code take_nclx(const struct session *session, struct photo_header *header)
{
    struct heif_color_profile_nclx *nclx = NULL;
    struct heif_error error = heif_image_handle_get_nclx_color_profile(session->handle, &nclx);
    bool there = error.code == heif_error_Ok && nclx;
    bool hdr = there && is_hdr((int)nclx->transfer_characteristics);
    if (there && !hdr)
        take_figures(nclx, header);
    if (nclx) /* also left behind with an error, for code points that libheif doesn't know */
        heif_nclx_color_profile_free(nclx);
    return hdr ? sl_status_set(session->status, SL_E_COLOUR_MODEL, "photo/heic",
                               "Switch HDR off in the camera, or save the photo as JPEG.",
                               "%s is an HDR photo; only ordinary photos are read.",
                               session->photo->info.file)
               : SL_OK;
}

static void take_exif(const struct session *session, struct photo_header *header)
{
    heif_item_id id;
    uint8_t *block = NULL;
    if (heif_image_handle_get_list_of_metadata_block_IDs(session->handle, "Exif", &id, 1) < 1)
        return;
    size_t count = heif_image_handle_get_metadata_size(session->handle, id);
    if (count > EXIF_OFFSET_BYTES && count <= SL_EXIF_BYTES_MAX)
        block = malloc(count);
    header->exif_damaged = true;
    if (block && heif_image_handle_get_metadata(session->handle, id, block).code == heif_error_Ok) {
        size_t start = EXIF_OFFSET_BYTES + (size_t)big_endian_32(block);
        if (start < count) {
            header->exif_bytes = count - start;
            header->exif = bytes_copy(block + start, header->exif_bytes);
            header->exif_damaged = !header->exif;
        }
    }
    free(block);
}

static sl_code heic_read_header(struct sl_photo *photo, struct photo_header *ret,
                                struct sl_status *status)
{
    struct session session = {.photo = photo, .status = status};
    sl_code code = session_begin(&session);
    if (code)
        goto done;
    int width = heif_image_handle_get_width(session.handle);
    int height = heif_image_handle_get_height(session.handle);
    ret->width = width > 0 ? (uint32_t)width : 0;
    ret->height = height > 0 ? (uint32_t)height : 0;
    ret->bits = heif_image_handle_get_luma_bits_per_pixel(session.handle) > 8 ? 16 : 8;
    ret->own_orientation = true;
    ret->orientation = 1;
    take_exif(&session, ret);
    switch (heif_image_handle_get_color_profile_type(session.handle)) {
    case heif_color_profile_type_rICC:
    case heif_color_profile_type_prof:
        take_icc(&session, ret);
        break;
    default:
        code = take_nclx(&session, ret);
    }
done:
    session_finish(&session);
    return code;
}

static void copy_row_16(const uint8_t *from, unsigned bits, int width, uint16_t *to)
{
    uint32_t top = (1u << bits) - 1;
    for (int i = 0; i < 3 * width; i++) {
        uint32_t sample = (uint32_t)from[2 * i] | (uint32_t)from[2 * i + 1] << 8;
        to[i] = (uint16_t)((sample * 65535u + top / 2) / top);
    }
}

static sl_code copy_pixels(const struct session *session, struct sl_image *ret)
{
    const struct sl_photo *photo = session->photo;
    int stride = 0;
    const uint8_t *plane =
        heif_image_get_plane_readonly(session->image, heif_channel_interleaved, &stride);
    int width = heif_image_get_width(session->image, heif_channel_interleaved);
    int height = heif_image_get_height(session->image, heif_channel_interleaved);
    int bits = heif_image_get_bits_per_pixel_range(session->image, heif_channel_interleaved);
    if (!plane || width != photo->stored.width || height != photo->stored.height || bits < 8 ||
        bits > 16)
        return photo_damaged(photo, "its picture is not what its header says", session->status);
    if (!image_alloc(ret, width, height, photo->info.bits, 3))
        return photo_no_memory(photo, session->status);
    for (int y = 0; y < height; y++) {
        const uint8_t *row = plane + (size_t)y * (size_t)stride;
        if (ret->bits == 8)
            memcpy(image_row(ret, y), row, ret->stride);
        else
            copy_row_16(row, (unsigned)bits, width, (uint16_t *)(void *)image_row(ret, y));
    }
    return SL_OK;
}

static sl_code heic_decode(struct sl_photo *photo, struct sl_image *ret, struct sl_status *status)
{
    struct session session = {.photo = photo, .status = status};
    struct heif_decoding_options *options = heif_decoding_options_alloc();
    sl_code code = options ? session_begin(&session) : photo_no_memory(photo, status);
    if (code)
        goto done;
    if (options->version >= 3)
        options->strict_decoding = 1;
    session.decoding = true;
    struct heif_error error = heif_decode_image(
        session.handle, &session.image, heif_colorspace_RGB,
        photo->info.bits == 8 ? heif_chroma_interleaved_RGB : heif_chroma_interleaved_RRGGBB_LE,
        options);
    code = error.code == heif_error_Ok ? copy_pixels(&session, ret) : translate(&session, error);
done:
    heif_decoding_options_free(options);
    session_finish(&session);
    return code;
}

static bool heic_matches(const uint8_t *bytes, size_t count)
{
    return count >= FTYP_BYTES &&
           heif_check_filetype(bytes, (int)(count < 64 ? count : 64)) != heif_filetype_no;
}

const struct photo_decoder heic_decoder = {
    .format = "HEIC",
    .matches = heic_matches,
    .read_header = heic_read_header,
    .decode = heic_decode,
};
