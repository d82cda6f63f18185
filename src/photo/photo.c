// SPDX-License-Identifier: GPL-3.0-or-later
/* Opening a photo and handing out its pixels the right way up.
 *
 * 1. Keep the file's bytes, hash them, recognise the format by its first bytes.
 * 2. Let the format read its header; check sizes and work before any memory for pixels is taken.
 * 3. Colour: the embedded profile, else what the file says in figures, else sRGB with a warning.
 * 4. Orientation and date from EXIF; damage there is a warning.
 * 5. Look and region: by the format's short cut where it has one, else from the whole picture,
 *    which is then decoded once and kept. Orientation is applied last. */
#include "photo/decoder.h"

#include <nettle/sha2.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *where = "photo";

static const struct photo_decoder *const decoders[] = {&jpeg_decoder, &png_decoder, &heic_decoder,
                                                       &tiff_decoder};

void *bytes_copy(const void *bytes, size_t count)
{
    void *copy = bytes && count ? malloc(count) : NULL;
    return copy ? memcpy(copy, bytes, count) : NULL;
}

void photo_header_finish(struct photo_header *header)
{
    free(header->icc);
    free(header->exif);
    *header = (struct photo_header){0};
}

sl_code photo_truncated(const struct sl_photo *photo, struct sl_status *status)
{
    return sl_status_set(status, SL_E_TRUNCATED, where, "Copy the photo from the camera again.",
                         "%s ends too early; part of the picture is missing.", photo->info.file);
}

sl_code photo_damaged(const struct sl_photo *photo, const char *what, struct sl_status *status)
{
    return sl_status_set(status, SL_E_DAMAGED, where, "Copy the photo from the camera again.",
                         "%s is a damaged %s file (%s).", photo->info.file, photo->decoder->format,
                         what);
}

sl_code photo_no_memory(const struct sl_photo *photo, struct sl_status *status)
{
    return sl_status_set(status, SL_E_MEMORY, where, "Close other programs and try again.",
                         "There is not enough memory for %s.", photo->info.file);
}

sl_code photo_check_size(const struct sl_photo *photo, uint32_t width, uint32_t height,
                         struct sl_status *status)
{
    if (width == 0 || height == 0)
        return photo_damaged(photo, "its header says that it has no pixels", status);
    if (width > SL_PHOTO_SIDE_MAX || height > SL_PHOTO_SIDE_MAX ||
        (uint64_t)width * height > SL_PHOTO_PIXELS_MAX)
        return sl_status_set(status, SL_E_TOO_LARGE, where, "Make the photo smaller first.",
                             "%s has %u x %u pixels; the limits are %d a side and %d million "
                             "pixels.",
                             photo->info.file, (unsigned)width, (unsigned)height, SL_PHOTO_SIDE_MAX,
                             SL_PHOTO_PIXELS_MAX / 1000000);
    return SL_OK;
}

sl_code photo_check_work(const struct sl_photo *photo, uint64_t parts, uint64_t bytes,
                         struct sl_status *status)
{
    uint64_t work = bytes + parts * PHOTO_PART_BYTES;
    if (work <= PHOTO_WORK_BYTES_MAX)
        return SL_OK;
    return sl_status_set(status, SL_E_TOO_LARGE, where, "Save the photo again as an ordinary JPEG.",
                         "%s is stored in %llu pieces that take as long to decode as %llu MB; the "
                         "limit is %llu MB.",
                         photo->info.file, (unsigned long long)parts,
                         (unsigned long long)(work / 1000000),
                         (unsigned long long)(PHOTO_WORK_BYTES_MAX / 1000000));
}

static void hash(struct sl_photo *photo)
{
    uint8_t digest[SHA256_DIGEST_SIZE];
    struct sha256_ctx context;
    sha256_init(&context);
    sha256_update(&context, photo->count, photo->bytes);
    sha256_digest(&context, sizeof digest, digest);
    for (size_t i = 0; i < sizeof digest; i++)
        snprintf(photo->info.sha256 + 2 * i, 3, "%02x", digest[i]);
}

/* A name longer than there is room for is cut, never inside a UTF-8 character. */
static void set_name(struct sl_photo *photo, const char *name)
{
    char *to = photo->info.file;
    size_t n = strlen(name);
    if (n >= sizeof photo->info.file) {
        n = sizeof photo->info.file - 1;
        while (n > 0 && ((unsigned char)name[n] & 0xC0u) == 0x80u)
            n--;
    }
    memcpy(to, name, n);
    to[n] = '\0';
}

static sl_code recognise(struct sl_photo *photo, struct sl_status *status)
{
    for (size_t i = 0; i < sizeof decoders / sizeof *decoders; i++)
        if (decoders[i]->matches(photo->bytes, photo->count)) {
            photo->decoder = decoders[i];
            photo->info.format = decoders[i]->format;
            return SL_OK;
        }
    return sl_status_set(status, SL_E_FORMAT, where, "Save it as JPEG, PNG, HEIC or TIFF.",
                         "%s is not a photo in a format that is read.", photo->info.file);
}

static sl_code assume_srgb(struct sl_photo *photo, struct sl_status *status)
{
    return sl_colour_create(NULL, 0, &photo->colour, status);
}

/* A profile that doesn't fit is reported and replaced; only memory stops here. */
static sl_code colour_from_profile(struct sl_photo *photo, const struct photo_header *header,
                                   struct sl_warnings *warnings, struct sl_status *status)
{
    struct sl_status problem = {0};
    sl_code code = SL_W_PROFILE_DAMAGED;
    if (!header->icc_damaged && header->icc)
        code = sl_colour_create(header->icc, header->icc_bytes, &photo->colour, &problem);
    if (code == SL_E_MEMORY) {
        if (status)
            *status = problem;
        return code;
    }
    if (!code && colour_is_grey(photo->colour) && !header->grey) {
        sl_colour_destroy(photo->colour);
        photo->colour = NULL;
        code = SL_W_PROFILE_DAMAGED;
        snprintf(problem.message, sizeof problem.message, "%s",
                 "The photo's colour profile is for grey, its pixels are RGB; sRGB is assumed "
                 "instead.");
    }
    if (!code)
        return SL_OK;
    sl_warn(warnings, SL_W_PROFILE_DAMAGED, "photo/colour",
            "Export the photo again with an sRGB profile if its colours matter.", "%s",
            code == SL_E_COLOUR_MODEL
                ? "The photo's colour profile does not fit its RGB pixels; sRGB is assumed instead."
            : problem.message[0]
                ? problem.message
                : "The photo's colour profile can't be read; sRGB is assumed instead.");
    return assume_srgb(photo, status);
}

static sl_code colour_from_encoding(struct sl_photo *photo, const struct photo_header *header,
                                    struct sl_warnings *warnings, struct sl_status *status)
{
    struct sl_status problem = {0};
    sl_code code = colour_create_encoding(&header->encoding, &photo->colour, &problem);
    if (code != SL_W_PROFILE_DAMAGED) {
        if (code && status)
            *status = problem;
        return code;
    }
    sl_warn(warnings, code, "photo/colour", problem.remedy, "%s", problem.message);
    return assume_srgb(photo, status);
}

static sl_code set_colour(struct sl_photo *photo, const struct photo_header *header,
                          struct sl_warnings *warnings, struct sl_status *status)
{
    sl_code code;
    const char *name = NULL;
    if (header->icc || header->icc_damaged)
        code = colour_from_profile(photo, header, warnings, status);
    else if (header->encoded)
        code = colour_from_encoding(photo, header, warnings, status);
    else
        code = assume_srgb(photo, status);
    if (code)
        return code;
    if (!header->icc && !header->icc_damaged && !header->encoded) {
        if (header->srgb)
            name = "sRGB";
        else
            sl_warn(warnings, SL_W_NO_PROFILE, "photo/colour",
                    "Most cameras mean sRGB; if yours does not, export the photo with its profile.",
                    "The photo has no colour profile; sRGB is assumed.");
    }
    snprintf(photo->info.colour_profile, sizeof photo->info.colour_profile, "%s",
             name ? name : sl_colour_name(photo->colour));
    return SL_OK;
}

static void set_exif(struct sl_photo *photo, const struct photo_header *header,
                     struct sl_warnings *warnings)
{
    struct sl_photo_info *info = &photo->info;
    int orientation = 0;
    bool sound = !header->exif_damaged;
    memcpy(info->date, header->date, sizeof info->date);
    if (header->exif_bytes > SL_EXIF_BYTES_MAX)
        sound = false;
    else if (header->exif && !exif_read(header->exif, header->exif_bytes, &orientation, info->date))
        sound = false;
    if (header->own_orientation)
        orientation = header->orientation;
    info->orientation = orientation ? orientation : 1;
    if (!sound)
        sl_warn(warnings, SL_W_EXIF_DAMAGED, "photo/exif",
                "Check that the photo is shown the right way up.",
                "The camera's notes in %s (EXIF) are damaged; orientation %d is used.", info->file,
                info->orientation);
}

static sl_code read_all_headers(struct sl_photo *photo, struct sl_warnings *warnings,
                                struct sl_status *status)
{
    struct photo_header header = {.bits = 8};
    sl_code code = recognise(photo, status);
    if (!code)
        code = photo->decoder->read_header(photo, &header, status);
    if (!code)
        code = photo_check_size(photo, header.width, header.height, status);
    if (!code)
        code = set_colour(photo, &header, warnings, status);
    if (!code) {
        set_exif(photo, &header, warnings);
        bool swap = orient_swaps_sides(photo->info.orientation);
        photo->stored = (struct sl_rect){0, 0, (int)header.width, (int)header.height};
        photo->info.width_px = swap ? photo->stored.height : photo->stored.width;
        photo->info.height_px = swap ? photo->stored.width : photo->stored.height;
        photo->info.bits = header.bits;
    }
    photo_header_finish(&header);
    return code;
}

/* Takes the bytes over, also on failure. */
static sl_code open_bytes(uint8_t *bytes, size_t count, const char *name, struct sl_photo **ret,
                          struct sl_warnings *warnings, struct sl_status *status)
{
    struct sl_photo *photo = calloc(1, sizeof *photo);
    if (!photo) {
        free(bytes);
        return sl_status_set(status, SL_E_MEMORY, where, "Close other programs and try again.",
                             "There is not enough memory for %s.", name);
    }
    photo->bytes = bytes;
    photo->count = count;
    set_name(photo, name);
    hash(photo);
    sl_code code = read_all_headers(photo, warnings, status);
    if (code)
        sl_photo_close(photo);
    else
        *ret = photo;
    return code;
}

sl_code sl_photo_open_named(const char *path, const char *name, struct sl_photo **ret,
                            struct sl_warnings *warnings, struct sl_status *status)
{
    uint8_t *bytes = NULL;
    size_t count = 0;
    sl_code code = file_read(path, &bytes, &count, status);
    return code ? code : open_bytes(bytes, count, name, ret, warnings, status);
}

sl_code sl_photo_open(const char *path, struct sl_photo **ret, struct sl_warnings *warnings,
                      struct sl_status *status)
{
    return sl_photo_open_named(path, path, ret, warnings, status);
}

sl_code sl_photo_open_memory(const void *bytes, size_t count, const char *name,
                             struct sl_photo **ret, struct sl_warnings *warnings,
                             struct sl_status *status)
{
    if (count == 0)
        return sl_status_set(status, SL_E_EMPTY_FILE, where, "Copy the photo again.",
                             "%s is empty.", name);
    if (count > SL_PHOTO_FILE_BYTES_MAX)
        return sl_status_set(status, SL_E_TOO_LARGE, where, "Export the photo as JPEG.",
                             "%s has %zu MiB, more than the limit of %d MiB.", name, count >> 20,
                             SL_PHOTO_FILE_BYTES_MAX >> 20);
    uint8_t *copy = bytes_copy(bytes, count);
    if (!copy)
        return sl_status_set(status, SL_E_MEMORY, where, "Close other programs and try again.",
                             "There is not enough memory for %s.", name);
    return open_bytes(copy, count, name, ret, warnings, status);
}

void sl_photo_close(struct sl_photo *photo)
{
    if (!photo)
        return;
    sl_image_finish(&photo->whole);
    sl_colour_destroy(photo->colour);
    free(photo->bytes);
    free(photo);
}

void sl_photo_set_cancel(struct sl_photo *photo, struct sl_cancel cancel)
{
    photo->cancel = cancel;
}

sl_code sl_photo_check_cancel(const struct sl_photo *photo, struct sl_status *status)
{
    if (!photo->cancel.asked || !photo->cancel.asked(photo->cancel.context))
        return SL_OK;
    return sl_status_set(status, SL_E_CANCELLED, where, "Read it again.",
                         "%s was not read to the end: that was cancelled.", photo->info.file);
}

const struct sl_photo_info *sl_photo_info(const struct sl_photo *photo)
{
    return &photo->info;
}

static sl_code need_whole(struct sl_photo *photo, struct sl_status *status)
{
    if (photo->whole.pixels)
        return SL_OK;
    return photo->decoder->decode(photo, &photo->whole, status);
}

sl_code sl_photo_keep_pixels(struct sl_photo *photo, struct sl_status *status)
{
    return need_whole(photo, status);
}

/* Turns the stored image right way up; frees it, or passes it on where nothing is to be turned. */
static sl_code hand_out(struct sl_photo *photo, struct sl_image *image, struct sl_image *ret,
                        struct sl_status *status)
{
    image->colour = photo->colour;
    if (photo->info.orientation == 1) {
        *ret = *image;
        return SL_OK;
    }
    sl_code code = orient_copy(photo, image, ret, status);
    sl_image_finish(image);
    return code;
}

sl_code sl_photo_look(struct sl_photo *photo, int side_px, struct sl_image *ret,
                      struct sl_status *status)
{
    struct sl_image image = {0};
    sl_code code = SL_OK;
    if (side_px < 1)
        return sl_status_set(status, SL_E_RANGE, where, "Ask for 1 px at least.",
                             "A look of %d px a side is not possible.", side_px);
    if (photo->decoder->look)
        code = photo->decoder->look(photo, side_px, &image, status);
    if (!code && !image.pixels)
        code = need_whole(photo, status);
    if (code)
        return code;
    if (!image.pixels) {
        int longer =
            photo->stored.width > photo->stored.height ? photo->stored.width : photo->stored.height;
        int factor = longer / side_px > 1 ? longer / side_px : 1;
        code = image_reduce(photo, &photo->whole, factor, &image, status);
    }
    return code ? code : hand_out(photo, &image, ret, status);
}

static struct sl_rect clip(struct sl_rect rect, int width, int height)
{
    int64_t right = (int64_t)rect.x + rect.width, bottom = (int64_t)rect.y + rect.height;
    int x = rect.x > 0 ? rect.x : 0, y = rect.y > 0 ? rect.y : 0;
    int64_t w = (right < width ? right : width) - x, h = (bottom < height ? bottom : height) - y;
    return (struct sl_rect){x, y, w > 0 ? (int)w : 0, h > 0 ? (int)h : 0};
}

sl_code sl_photo_region(struct sl_photo *photo, struct sl_rect rect, struct sl_image *ret,
                        struct sl_status *status)
{
    const struct sl_photo_info *info = &photo->info;
    struct sl_image image = {0};
    sl_code code = SL_OK;
    struct sl_rect seen = clip(rect, info->width_px, info->height_px);
    if (seen.width < 1 || seen.height < 1)
        return sl_status_set(status, SL_E_RANGE, where, "Choose a region inside the photo.",
                             "The region %d x %d at (%d, %d) shows nothing of the %d x %d photo.",
                             rect.width, rect.height, rect.x, rect.y, info->width_px,
                             info->height_px);
    struct sl_rect stored = orient_to_stored(seen, photo->stored, info->orientation);
    if (photo->decoder->region && !photo->whole.pixels)
        code = photo->decoder->region(photo, stored, &image, status);
    if (!code && !image.pixels)
        code = need_whole(photo, status);
    if (code)
        return code;
    if (image.pixels)
        return hand_out(photo, &image, ret, status);
    image = image_view(&photo->whole, stored);
    return orient_copy(photo, &image, ret, status);
}
