// SPDX-License-Identifier: GPL-3.0-or-later
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <string.h>

#include "strandline/status.h"

static void every_code_has_a_name_of_its_own(void **state)
{
    (void)state;
    for (int i = 0; i < SL_CODE_COUNT; i++) {
        const char *name = sl_code_name((sl_code)i);
        assert_non_null(name);
        assert_true(strlen(name) > 1);
        for (int j = 0; j < i; j++)
            assert_string_not_equal(name, sl_code_name((sl_code)j));
    }
    assert_string_equal(sl_code_name(SL_CODE_COUNT), "unknown");
}

/* The numbers of sysexits.h, BSD 4.3. */
static void exit_codes_are_those_of_sysexits(void **state)
{
    (void)state;
    assert_int_equal(sl_code_exit(SL_OK), 0);
    assert_int_equal(sl_code_exit(SL_E_USAGE), 64);
    assert_int_equal(sl_code_exit(SL_E_TRUNCATED), 65);
    assert_int_equal(sl_code_exit(SL_E_NO_FILE), 66);
    assert_int_equal(sl_code_exit(SL_E_INTERNAL), 70);
    assert_int_equal(sl_code_exit(SL_E_MEMORY), 71);
    assert_int_equal(sl_code_exit(SL_E_WRITE), 73);
    assert_int_equal(sl_code_exit(SL_E_CANCELLED), 75);
    assert_int_equal(sl_code_exit(SL_W_CLIPPED), 0);
}

static void set_fills_all_and_returns_the_code(void **state)
{
    (void)state;
    struct sl_status status = {0};
    sl_code code =
        sl_status_set(&status, SL_E_TOO_LARGE, "photo/png", "Make it smaller.", "%d px", 60000);
    assert_int_equal(code, SL_E_TOO_LARGE);
    assert_int_equal(status.code, SL_E_TOO_LARGE);
    assert_string_equal(status.message, "60000 px");
    assert_string_equal(status.remedy, "Make it smaller.");
    assert_string_equal(status.where, "photo/png");
    assert_int_equal(sl_status_set(NULL, SL_E_READ, "x", "y", "z"), SL_E_READ);
}

static void long_text_is_cut_at_a_whole_character(void **state)
{
    (void)state;
    char text[2 * SL_MESSAGE_MAX] = {0};
    for (size_t i = 0; i + 2 < sizeof text; i += 2)
        memcpy(text + i, "\xC3\xBC", 2); /* u with diaeresis, two bytes */
    struct sl_status status;
    sl_status_set(&status, SL_E_READ, "photo", text, "x%s", text);
    assert_int_equal(strlen(status.message) % 2, 1);
    assert_int_equal(strlen(status.remedy) % 2, 0);
    assert_true(strlen(status.message) >= SL_MESSAGE_MAX - 3);
}

static void a_warning_of_one_code_is_kept_once(void **state)
{
    (void)state;
    struct sl_warnings warnings = {0};
    sl_warn(&warnings, SL_W_BENT, "strip", "", "first");
    sl_warn(&warnings, SL_W_BENT, "strip", "", "second");
    sl_warn(&warnings, SL_W_DARK, "strip", "", "third");
    sl_warn(NULL, SL_W_DARK, "strip", "", "nowhere");
    assert_int_equal(warnings.count, 2);
    assert_string_equal(warnings.item[0].message, "first");
    assert_true(sl_warned(&warnings, SL_W_DARK));
    assert_false(sl_warned(&warnings, SL_W_CLIPPED));
    assert_false(sl_warned(NULL, SL_W_CLIPPED));
}

static void warnings_beyond_the_limit_are_dropped(void **state)
{
    (void)state;
    struct sl_warnings warnings = {0};
    for (int i = 0; i < SL_CODE_COUNT; i++)
        sl_warn(&warnings, (sl_code)i, "x", "", "%d", i);
    assert_int_equal(warnings.count, SL_WARNINGS_MAX);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_code_has_a_name_of_its_own),
        cmocka_unit_test(exit_codes_are_those_of_sysexits),
        cmocka_unit_test(set_fills_all_and_returns_the_code),
        cmocka_unit_test(long_text_is_cut_at_a_whole_character),
        cmocka_unit_test(a_warning_of_one_code_is_kept_once),
        cmocka_unit_test(warnings_beyond_the_limit_are_dropped),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
