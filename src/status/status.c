// SPDX-License-Identifier: GPL-3.0-or-later
#include "strandline/status.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

struct code_entry {
    const char *name;
    int exit_code; /* sysexits.h, written out: the header is not in every C library */
};

enum {
    EXIT_USAGE = 64,
    EXIT_DATA = 65,
    EXIT_NO_INPUT = 66,
    EXIT_SOFTWARE = 70,
    EXIT_OS = 71,
    EXIT_CANT_CREATE = 73,
    EXIT_IO = 74,
    EXIT_TEMPFAIL = 75
};

static const struct code_entry codes[SL_CODE_COUNT] = {
    [SL_OK] = {"ok", 0},
    [SL_E_USAGE] = {"usage", EXIT_USAGE},
    [SL_E_RANGE] = {"out-of-range", EXIT_USAGE},
    [SL_E_ORIGIN_ABOVE_FRONT] = {"origin-above-front", EXIT_USAGE},
    [SL_E_NO_FILE] = {"no-such-file", EXIT_NO_INPUT},
    [SL_E_NOT_A_FILE] = {"not-a-file", EXIT_NO_INPUT},
    [SL_E_EMPTY_FILE] = {"empty-file", EXIT_DATA},
    [SL_E_READ] = {"cannot-read", EXIT_NO_INPUT},
    [SL_E_WRITE] = {"cannot-write", EXIT_CANT_CREATE},
    [SL_E_FORMAT] = {"unknown-format", EXIT_DATA},
    [SL_E_TRUNCATED] = {"truncated", EXIT_DATA},
    [SL_E_DAMAGED] = {"damaged", EXIT_DATA},
    [SL_E_TOO_LARGE] = {"too-large", EXIT_DATA},
    [SL_E_COLOUR_MODEL] = {"colour-model", EXIT_DATA},
    [SL_E_READING] = {"bad-reading", EXIT_DATA},
    [SL_E_NO_STRIP] = {"no-strip", EXIT_DATA},
    [SL_E_CUT_OFF] = {"cut-off", EXIT_DATA},
    [SL_E_TOO_DARK] = {"too-dark", EXIT_DATA},
    [SL_E_BURNT_OUT] = {"burnt-out", EXIT_DATA},
    [SL_E_BLURRED] = {"blurred", EXIT_DATA},
    [SL_E_TOO_SMALL] = {"too-small", EXIT_DATA},
    [SL_E_STRIP_COUNT] = {"strip-count", EXIT_DATA},
    [SL_E_DIFFERENT_INKS] = {"different-inks", EXIT_USAGE},
    [SL_E_MEMORY] = {"out-of-memory", EXIT_OS},
    [SL_E_INTERNAL] = {"internal", EXIT_SOFTWARE},
    [SL_E_CANCELLED] = {"cancelled", EXIT_TEMPFAIL},
    [SL_W_NO_PROFILE] = {"no-colour-profile", 0},
    [SL_W_PROFILE_DAMAGED] = {"colour-profile-damaged", 0},
    [SL_W_EXIF_DAMAGED] = {"exif-damaged", 0},
    [SL_W_BLANK] = {"blank", 0},
    [SL_W_CUT_OFF] = {"strip-cut-off", 0},
    [SL_W_BLURRED] = {"photo-blurred", 0},
    [SL_W_DARK] = {"photo-dark", 0},
    [SL_W_CLIPPED] = {"clipped", 0},
    [SL_W_SATURATED] = {"saturated", 0},
    [SL_W_UNEVEN_LIGHT] = {"uneven-light", 0},
    [SL_W_NO_CLEAN_PAPER] = {"no-clean-paper", 0},
    [SL_W_COLOURED_PAPER] = {"coloured-paper", 0},
    [SL_W_FEW_PIXELS] = {"few-pixels", 0},
    [SL_W_ORIENTATION] = {"which-end-unsure", 0},
    [SL_W_ORIGIN_UNSURE] = {"origin-unsure", 0},
    [SL_W_FRONT_UNSEEN] = {"front-not-seen", 0},
    [SL_W_PENCIL] = {"pencil-on-line", 0},
    [SL_W_HIDDEN_PART] = {"part-hidden", 0},
    [SL_W_BENT] = {"strip-bent", 0},
    [SL_W_SMEAR] = {"smear", 0},
    [SL_W_BAND_COUNT] = {"band-count-unsure", 0},
    [SL_W_FIT] = {"fit-unsure", 0},
    [SL_W_CONDITIONS] = {"different-conditions", 0},
    [SL_W_DIFFERENT_INKS] = {"maybe-different-inks", 0},
    [SL_W_DISAGREES] = {"strip-disagrees", 0},
    [SL_W_ROLES] = {"roles-assumed", 0},
    [SL_W_GLYPHS] = {"glyphs-missing", 0},
};

const char *sl_code_name(sl_code code)
{
    if ((int)code < 0 || code >= SL_CODE_COUNT)
        return "unknown";
    return codes[code].name;
}

int sl_code_exit(sl_code code)
{
    if ((int)code < 0 || code >= SL_CODE_COUNT)
        return EXIT_SOFTWARE;
    return codes[code].exit_code;
}

/* A cut must not leave half a UTF-8 character behind. */
static void trim_partial_utf8(char *text)
{
    size_t n = strlen(text), back = 0;
    while (back < n && back < 4 && ((unsigned char)text[n - 1 - back] & 0xC0u) == 0x80u)
        back++;
    if (back >= n)
        return;
    unsigned char lead = (unsigned char)text[n - 1 - back];
    size_t want = lead >= 0xF0u ? 3 : lead >= 0xE0u ? 2 : lead >= 0xC0u ? 1 : 0;
    if (back < want)
        text[n - 1 - back] = '\0';
}

static void copy_text(char *to, size_t size, const char *from)
{
    snprintf(to, size, "%s", from ? from : "");
    if (from && strlen(from) >= size)
        trim_partial_utf8(to);
}

static void fill(struct sl_status *status, sl_code code, const char *where, const char *remedy,
                 const char *format, va_list args) SL_PRINTF(5, 0);

static void fill(struct sl_status *status, sl_code code, const char *where, const char *remedy,
                 const char *format, va_list args)
{
    status->code = code;
    int n = vsnprintf(status->message, sizeof status->message, format, args);
    if (n >= (int)sizeof status->message)
        trim_partial_utf8(status->message);
    copy_text(status->remedy, sizeof status->remedy, remedy);
    copy_text(status->where, sizeof status->where, where);
}

sl_code sl_status_set(struct sl_status *status, sl_code code, const char *where, const char *remedy,
                      const char *format, ...)
{
    if (status) {
        va_list args;
        va_start(args, format);
        fill(status, code, where, remedy, format, args);
        va_end(args);
    }
    return code;
}

int sl_warned(const struct sl_warnings *warnings, sl_code code)
{
    for (size_t i = 0; warnings && i < warnings->count; i++)
        if (warnings->item[i].code == code)
            return 1;
    return 0;
}

void sl_warn(struct sl_warnings *warnings, sl_code code, const char *where, const char *remedy,
             const char *format, ...)
{
    if (!warnings || warnings->count >= SL_WARNINGS_MAX || sl_warned(warnings, code))
        return;
    va_list args;
    va_start(args, format);
    fill(&warnings->item[warnings->count], code, where, remedy, format, args);
    va_end(args);
    warnings->count++;
}
